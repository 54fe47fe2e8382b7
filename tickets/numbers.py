"""Ticket and piece numbers: how they are made, checked, spoken and read back.

A ticket number has seven digits from 1000001 up. A piece code has ten: the ticket
number, the piece's two-digit position and one check digit after ISO 7064, hybrid
system MOD 11,10, which finds every single wrong digit and nearly all swaps of two
neighbours (source for both claims: the standard's own description, from memory).

No number starts with 99: the Code 128 encoder used for the bars drops those two
digits without a word, so such a number would print as a different one.
"""

import re
import unicodedata
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.errors import Kind

FIRST_TICKET = 1_000_001
LAST_TICKET = 9_899_999
LAST_POSITION = 99

_HYPHENS = dict.fromkeys(map(ord, "‐‑‒–—−_/"), "-")
_SPOKEN = re.compile(r"(\d{7})-(\d{1,2})")


class NumberError(ValueError):
    """A ticket or piece number that cannot be right; the text names value, place and cure.

    ``reason`` is one of ``empty``, ``letters``, ``length``, ``check``, ``ticket`` and
    ``position``, for callers that act on the kind of fault.
    """

    kind = Kind.NOT_FOUND

    def __init__(self, reason: str, message: str) -> None:
        super().__init__(message)
        self.reason = reason


@dataclass(frozen=True, slots=True)
class TicketCode:
    """A whole ticket, as its seven-digit number."""

    ticket: int

    @property
    def digits(self) -> str:
        """The seven digits that the claim slip's bar code carries."""
        return f"{self.ticket:07d}"

    @property
    def spoken(self) -> str:
        """The number as people say and type it."""
        return self.digits


@dataclass(frozen=True, slots=True)
class PieceCode:
    """One piece of a ticket, by its position from 1."""

    ticket: int
    position: int

    @property
    def digits(self) -> str:
        """The ten digits that the tag's bar code carries."""
        return piece_code(self.ticket, self.position)

    @property
    def spoken(self) -> str:
        """The number as people say and type it, for example ``1004821-07``."""
        return f"{self.ticket:07d}-{self.position:02d}"


def check_digit(body: str) -> str:
    """Return the ISO 7064 MOD 11,10 check digit of a string of digits.

    Raises ValueError when ``body`` holds anything but the digits 0 to 9.
    """
    if not (body.isascii() and body.isdigit()):
        raise ValueError(f"{body!r}: a check digit is made from the digits 0 to 9 only.")
    remainder = 10
    for digit in body:
        total = (remainder + int(digit)) % 10 or 10
        remainder = total * 2 % 11
    return str((11 - remainder) % 10)


def check_ticket(ticket: int) -> int:
    """Return the ticket number if one may exist with it, or raise NumberError."""
    if not FIRST_TICKET <= ticket <= LAST_TICKET:
        raise NumberError(
            "ticket",
            _(
                "Ticket number %(value)s: the first seven digits must lie between "
                "%(first)s and %(last)s. Compare them with the slip or tag."
            )
            % {"value": ticket, "first": FIRST_TICKET, "last": LAST_TICKET},
        )
    return ticket


def next_ticket(last: int | None) -> int:
    """Return the number after ``last``, or the first number for a new shop.

    Raises NumberError after 9899999: numbers that start with 99 do not print.
    """
    return FIRST_TICKET if last is None else check_ticket(last + 1)


def piece_code(ticket: int, position: int) -> str:
    """Return the ten digits of a piece: ticket, position from 1 to 99, check digit."""
    check_ticket(ticket)
    if not 1 <= position <= LAST_POSITION:
        raise NumberError(
            "position",
            _(
                "Piece number %(value)s of ticket %(ticket)s: a ticket holds pieces 1 to "
                "%(last)s. Open a second ticket for the rest."
            )
            % {"value": position, "ticket": ticket, "last": LAST_POSITION},
        )
    body = f"{ticket:07d}{position:02d}"
    return body + check_digit(body)


def parse_code(text: str) -> PieceCode | TicketCode:
    """Read a scanned or typed number.

    Takes the ten digits of a tag, the spoken form ``1004821-07``, or the seven digits
    of a ticket. Blanks round and inside it, any kind of hyphen and full-width digits are
    put right. Anything else raises NumberError.
    """
    plain = unicodedata.normalize("NFKC", text).translate(_HYPHENS)
    plain = re.sub(r"\s*-\s*", "-", re.sub(r"\s+", " ", plain.strip()))
    if not plain:
        raise NumberError("empty", _("No number was given. Scan the tag or type its figures."))
    shown = text.strip()
    _refuse_letters(plain, shown)
    if match := _SPOKEN.fullmatch(plain):
        code = PieceCode(check_ticket(int(match[1])), int(match[2]))
        piece_code(code.ticket, code.position)
        return code
    digits = plain.replace(" ", "")
    if "-" in digits or len(digits) not in (7, 10):
        count = sum(c.isdigit() for c in digits)
        raise NumberError(
            "length",
            ngettext(
                "%(value)s has %(count)s digit. A ticket has 7, a tag has 10, and a spoken "
                "number looks like 1004821-07. Scan it again or type all its figures.",
                "%(value)s has %(count)s digits. A ticket has 7, a tag has 10, and a spoken "
                "number looks like 1004821-07. Scan it again or type all its figures.",
                count,
            )
            % {"value": shown, "count": count},
        )
    if len(digits) == 7:
        return TicketCode(check_ticket(int(digits)))
    if check_digit(digits[:9]) != digits[9]:
        raise NumberError(
            "check",
            _(
                "%(value)s: the last digit, %(digit)s, does not fit the nine before it, so one "
                "digit is wrong. Scan it again or type the figures printed on the tag."
            )
            % {"value": shown, "digit": digits[9]},
        )
    code = PieceCode(check_ticket(int(digits[:7])), int(digits[7:9]))
    piece_code(code.ticket, code.position)
    return code


def spoken(code: str | PieceCode | TicketCode) -> str:
    """Return a number as people say it: ``1004821-07`` for a piece, ``1004821`` for a ticket."""
    return (parse_code(code) if isinstance(code, str) else code).spoken


def _refuse_letters(plain: str, shown: str) -> None:
    for place, char in enumerate(plain, start=1):
        if char not in "0123456789- ":
            raise NumberError(
                "letters",
                _(
                    "%(value)s: character %(place)s, “%(char)s”, is not a digit. A ticket "
                    "or piece number holds figures only. Scan it again or type the figures."
                )
                % {"value": shown, "place": place, "char": char},
            )
