"""What the lines of a quote are called, and what is told once money is taken or given back."""

from __future__ import annotations

from collections.abc import Collection
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from counter.models import Payment, Shop
from counter.money.amounts import format_money

SERVICE_LINES = {
    "clean": gettext_lazy("Clean"),
    "press": gettext_lazy("Press only"),
    "mend": gettext_lazy("Mend"),
    "alter": gettext_lazy("Alter"),
}


def service_text(service: str, asked: Collection[str]) -> str:
    """A service in the words of what was asked: one price for cleaning, pressed or not."""
    if service == "clean" and "press" in asked:
        return _("Clean and press")
    return str(SERVICE_LINES.get(service, service))


def rush_line(percent: int) -> str:
    return _("Rush, %(percent)d %%") % {"percent": percent}


def minimum_line() -> str:
    return _("Up to the minimum charge")


def money_recorded(payment: Payment, shop: Shop, change: Decimal | None) -> str:
    """Money taken or given back; ``change``: what goes back of the cash that was given."""
    words = _("%(kind)s of %(amount)s recorded, %(means)s.") % _payment(payment, shop)
    if change:
        words += " " + _("Change to give back: %(change)s.") % {
            "change": format_money(change, shop)
        }
    return words


def recorded_before(payment: Payment, shop: Shop) -> str:
    """A form that was sent again."""
    words = _("This was already recorded: %(kind)s of %(amount)s, %(means)s.")
    return words % _payment(payment, shop)


def _payment(payment: Payment, shop: Shop) -> dict[str, str]:
    return {
        "kind": payment.get_kind_display(),
        "amount": format_money(payment.amount, shop),
        "means": payment.get_means_display(),
    }
