"""What an intake calls its parts, and says of itself as a whole: it or its promise changed."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from counter.models import Shop
from counter.money.amounts import format_money
from tickets.wording import shown_moment

PICK_TITLES = {
    "stains": gettext_lazy("Stains"),
    "trims": gettext_lazy("Trims and cloth"),
    "work": gettext_lazy("Operations"),
    "hazards": gettext_lazy("Anything dangerous?"),
    "terms": gettext_lazy("Words on the label"),
}
"""What a group of taps in the editor is called."""


def new_piece() -> str:
    return _("New piece")


def price_field() -> str:
    return _("Price")


def read_rush_first() -> str:
    return _("Rush: read what it costs, then open the ticket.")


def changed(pieces: int, total: Decimal, shop: Shop) -> str:
    """The intake is no longer what the page said: a second window or a colleague may have added a
    piece, the owner may have changed a price."""
    return ngettext(
        "This intake changed after the page showed it. It has %(pieces)d piece for %(total)s now: "
        "read it to the customer, then open the ticket.",
        "This intake changed after the page showed it. It has %(pieces)d pieces for %(total)s now: "
        "read it to the customer, then open the ticket.",
        pieces,
    ) % {"pieces": pieces, "total": format_money(total, shop)}


def later_than_said(promised_at: datetime, said: datetime) -> str:
    return _(
        "The promise is %(now)s now, later than the %(said)s said before. Tell the customer."
    ) % {"now": shown_moment(promised_at), "said": shown_moment(said)}


def ticket_opened(number: int) -> str:
    return _("Ticket %(number)s is open. Print the tags and the claim slip now.") % {
        "number": number
    }


def intake_discarded() -> str:
    return _("The intake was thrown away. No ticket came of it.")


def limits_lifted() -> str:
    """The owner set limits aside, up to what the label allows."""
    return _("Recorded. The decision follows the label as far as you said.")
