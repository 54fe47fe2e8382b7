"""What an intake says of itself as a whole: it changed, or its promise did."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.intake.judge import Judgement
from counter.money.amounts import format_money
from tickets.wording import shown_moment


def read_rush_first() -> str:
    return _("Rush: read what it costs, then open the ticket.")


def changed(judgement: Judgement) -> str:
    """The intake is no longer what the page said: a second window or a colleague may have added a
    piece, the owner may have changed a price."""
    pieces = len(judgement.pieces)
    return ngettext(
        "This intake changed after the page showed it. It has %(pieces)d piece for %(total)s now: "
        "read it to the customer, then open the ticket.",
        "This intake changed after the page showed it. It has %(pieces)d pieces for %(total)s now: "
        "read it to the customer, then open the ticket.",
        pieces,
    ) % {"pieces": pieces, "total": format_money(judgement.quote.total, judgement.shop)}


def later_than_said(promised_at: datetime, said: datetime) -> str:
    return _(
        "The promise is %(now)s now, later than the %(said)s said before. Tell the customer."
    ) % {"now": shown_moment(promised_at), "said": shown_moment(said)}
