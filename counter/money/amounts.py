"""Amounts of money as people read them. Sums are ``Decimal`` in the shop's one currency."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from counter.models import Shop
from tickets.errors import Kind, Refused

WHOLE_ONLY = frozenset({"CLP", "ISK", "JPY", "KRW", "VND"})
"""Currencies without a smaller unit in use (ISO 4217 minor unit 0; listed from memory)."""

MOST = Decimal("99999.99")
_NARROW_GAP = "\N{NO-BREAK SPACE}"


def decimals(shop: Shop) -> int:
    return 0 if shop.currency in WHOLE_ONLY else 2


def rounded(amount: Decimal, shop: Shop) -> Decimal:
    """The amount in whole smallest units of the shop's currency, halves away from zero."""
    return amount.quantize(Decimal(1).scaleb(-decimals(shop)), rounding=ROUND_HALF_UP)


def format_money(amount: Decimal | int, shop: Shop, places: int | None = None) -> str:
    """An amount with the shop's sign: ``£1,234.50``, ``-£3.00``, or ``12.00 kr``.

    ``places``: digits after the point, where they are not those of the currency.
    """
    value = rounded(Decimal(amount), shop)
    digits = decimals(shop) if places is None else places
    figures = number_format(abs(value), digits, force_grouping=True)
    sign = shop.currency_sign or shop.currency
    shown = f"{figures}{_NARROW_GAP}{sign}" if sign[0].isalpha() else f"{sign}{figures}"
    return f"\N{MINUS SIGN}{shown}" if value < 0 else shown


def parse_money(text: str, shop: Shop, where: str) -> Decimal:
    """A typed amount of zero or more; ``where`` names the field in the refusal.

    Takes the shop's sign before or after and a comma or a point before the smaller unit.
    """
    plain = text.strip().replace(shop.currency_sign, "").replace(_NARROW_GAP, "").strip()
    try:
        amount = Decimal(plain.replace(",", "."))
    except InvalidOperation:
        amount = Decimal("NaN")
    if amount.is_finite() and amount > MOST:
        raise Refused(
            "bad_amount",
            _("%(where)s: %(text)s is too much.") % {"where": where, "text": text.strip()},
            _("Write at most %(most)s.") % {"most": format_money(MOST, shop)},
            kind=Kind.INVALID,
        )
    if not amount.is_finite() or amount < 0 or amount != rounded(amount, shop):
        raise Refused(
            "bad_amount",
            _("%(where)s: %(text)s is not an amount.") % {"where": where, "text": text.strip()},
            _("Write it like %(example)s.") % {"example": "12.50" if decimals(shop) else "1250"},
            kind=Kind.INVALID,
        )
    return amount
