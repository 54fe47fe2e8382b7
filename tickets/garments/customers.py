"""What is written of a customer: names and phone numbers, and the words to find a name by."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

import phonenumbers
from django.utils.translation import gettext as _

from tickets.errors import Kind, Refused
from tickets.models import Customer

WRITTEN_FIELDS = (
    "name",
    "phone",
    "email",
    "address_line",
    "may_message",
    "fragrance_free",
    "no_softener",
    "notes",
)
"""What staff and programs may write of a customer, in the order of the form."""

FEWEST_DIGITS = 3
FEWEST_LETTERS = 2

_PLAIN = str.maketrans(
    {
        "ł": "l",
        "ø": "o",
        "đ": "d",
        "ð": "d",
        "ħ": "h",
        "ŧ": "t",
        "ı": "i",
        "ŋ": "n",
        "æ": "ae",
        "œ": "oe",
        "þ": "th",
        "ĸ": "k",
    }
)
"""Latin letters that Unicode does not take apart into a plain letter and a mark."""


_SIGN = re.compile(
    "[\u3005\u3040-\u30ff\u31f0-\u31ff\u3400-\u4dbf\u4e00-\u9fff\U00020000-\U0003ffff\u1100-\u1112]"
)
"""A Han or Kana sign, or the first letter of a Hangul syllable: scripts that write a family and a
given name without a space between."""


def words_of(name: str) -> list[str]:
    """Lower-case words of a name without diacritics, in order, each once.

    >>> words_of("Zoë Ångström-Łęcka")
    ['zoe', 'angstrom', 'lecka']
    """
    plain = "".join(
        letter
        for letter in unicodedata.normalize("NFKD", name.casefold())
        if not unicodedata.combining(letter)
    )
    return list(dict.fromkeys(re.findall(r"\w+", plain.translate(_PLAIN))))


def parse_phone(text: str, region: str) -> str:
    """A phone number in E.164 form; ``region`` is the shop's country for numbers without +.

    Checks form only (length for the country): numbers reserved for fiction stay usable.
    """
    text = text.strip()
    if not text:
        return ""
    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        number = None
    if number is None or not phonenumbers.is_possible_number(number):
        raise Refused(
            "bad_phone",
            _("Phone %(phone)s is not a number that can be dialled.") % {"phone": text},
            _("Read it back with the customer, with the area or country code."),
            kind=Kind.INVALID,
        )
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def show_phone(phone: str, region: str) -> str:
    """A stored number as people of the shop's country write it."""
    if not phone:
        return ""
    try:
        number = phonenumbers.parse(phone, region)
    except phonenumbers.NumberParseException:
        return phone
    home = phonenumbers.region_code_for_country_code(number.country_code or 0) == region
    form = phonenumbers.PhoneNumberFormat
    return phonenumbers.format_number(number, form.NATIONAL if home else form.INTERNATIONAL)


def checked_customer(customer: Customer, *, phone: str, region: str) -> Customer:
    """A customer as ``store_customer`` takes it; ``Refused`` for a phone or a name that can't be.

    Nothing is written.
    """
    customer.name = " ".join(customer.name.split())
    if not words_to_find(customer.name):
        raise Refused(
            "no_name",
            _("The name has no letters."),
            _("Write the name the customer gives."),
            kind=Kind.INVALID,
        )
    customer.phone = parse_phone(phone, region)
    customer.phone_reversed = customer.phone.removeprefix("+")[::-1]
    return customer


def words_to_find(name: str) -> list[str]:
    """The words of a name; one without spaces can be found from each of its signs on.

    >>> words_to_find("王小明")
    ['王小明', '小明', '明']
    """
    words = words_of(name)
    inside = [word[sign.start() :] for word in words for sign in _SIGN.finditer(word)]
    return list(dict.fromkeys([*words, *inside]))


def enough_letters(words: Iterable[str]) -> bool:
    """Whether one of the words says enough to search by: two letters, or one Han or Kana sign."""
    return any(len(word) >= FEWEST_LETTERS or _SIGN.match(word) for word in words)
