"""What every page about a ticket or a piece begins with: the row, or the page "not found"."""

from __future__ import annotations

from django.http import Http404
from django.utils.translation import gettext as _

from tickets.errors import Refused
from tickets.models import Piece, Ticket
from tickets.tracking import queries


def ticket_or_404(number: int) -> Ticket:
    try:
        return queries.find_ticket(number)
    except Refused as no:
        raise Http404(no.says) from no


def piece_or_404(code: str) -> Piece:
    """The piece with all that its page shows."""
    piece = queries.piece_with_everything(code)
    if piece is None:
        raise Http404(_("There is no piece %(code)s.") % {"code": code})
    return piece
