"""Card numbers are never kept: what looks like one, and the refusal."""

from __future__ import annotations

import re

from django.utils.translation import gettext as _

from tickets.errors import Refused

_DIGIT_RUNS = re.compile(r"\d(?:[ .-]?\d){11,18}(?![ .-]?\d)")


def looks_like_card_number(text: str) -> bool:
    """Whether a text is, or holds, what may be a card number.

    That is 12 to 19 digits, with or without gaps, standing alone, or among other words with a
    right check digit (ISO/IEC 7812-1: lengths and the mod 10 double-add-double formula).
    """
    for run in _DIGIT_RUNS.finditer(text):
        digits = re.sub(r"\D", "", run.group())
        if run.group() == text.strip() or _mod_10(digits):
            return True
    return False


def refuse_card_number(text: str, where: str) -> None:
    if looks_like_card_number(text):
        raise Refused(
            "card_number",
            _("%(where)s: this looks like a card number, which must not be kept.")
            % {"where": where},
            _("Write it in words, without the number."),
        )


def _mod_10(digits: str) -> bool:
    total = 0
    for place, digit in enumerate(reversed(digits)):
        value = int(digit) * (2 if place % 2 else 1)
        total += value - 9 if value > 9 else value
    return total % 10 == 0
