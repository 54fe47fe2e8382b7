"""Where a ticket stands, in the words that answer "is it ready?"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.models import Piece, Ticket
from tickets.wording import shown_moment


@dataclass(frozen=True)
class CustomerStanding:
    """``state`` is ready, late, held, waiting or closed; ``words`` is said first, then ``more``."""

    state: str
    words: str
    more: str = ""


def customer_standing(ticket: Ticket, now: datetime) -> CustomerStanding:
    """Read the pieces of a ticket (prefetch ``pieces__rack_place``)."""
    pieces = [piece for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    if not pieces:
        closed = ticket.closed_at
        when = {"when": shown_moment(closed) if closed else ""}
        return CustomerStanding("closed", _("Closed %(when)s") % when)
    ready = [piece for piece in pieces if piece.state == PieceState.READY]
    if len(ready) == len(pieces):
        return CustomerStanding("ready", _("READY at %(places)s") % {"places": _places(ready)})
    promised = _("promised %(when)s") % {"when": shown_moment(ticket.promised_at)}
    words = _where([piece for piece in pieces if piece.state != PieceState.READY])
    more = promised
    if ready:
        more += "; " + ngettext(
            "%(count)d piece ready at %(places)s",
            "%(count)d pieces ready at %(places)s",
            len(ready),
        ) % {"count": len(ready), "places": _places(ready)}
    if ticket.promised_at < now:
        return CustomerStanding("late", _("LATE: %(words)s") % {"words": words}, more)
    held = any(piece.state == PieceState.HELD for piece in pieces)
    return CustomerStanding("held" if held else "waiting", words, more)


def _places(pieces: Sequence[Piece]) -> str:
    codes = {piece.rack_place.code for piece in pieces if piece.rack_place}
    return ", ".join(sorted(codes))


def _where(pieces: Sequence[Piece]) -> str:
    """``on hold at Bench, waiting at Wash (2)``, furthest behind first."""
    counted: dict[str, int] = {}
    order = list(Station)
    for piece in sorted(
        pieces, key=lambda each: (each.state != PieceState.HELD, order.index(Station(each.station)))
    ):
        state = PieceState(piece.state).label.lower()
        words = _("%(state)s at %(station)s") % {
            "state": state,
            "station": Station(piece.station).label,
        }
        counted[words] = counted.get(words, 0) + 1
    return ", ".join(
        words if count == 1 and len(pieces) == 1 else f"{words} ({count})"
        for words, count in counted.items()
    )
