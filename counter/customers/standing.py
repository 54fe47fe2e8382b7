"""Where a ticket stands, in the dots and words that answer "is it ready?"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from counter.customers import wording
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.models import Hold, Piece, Ticket
from tickets.tracking.dots import DOTS, ON_HOLD, READY, dot_of


@dataclass(frozen=True)
class CustomerStanding:
    """``state`` is ready, late, held, waiting or closed; ``dots`` are those of the open pieces and
    ``counted`` says the same; ``ready``: whether a piece could be handed over now."""

    state: str
    words: str
    dots: tuple[str, ...] = ()
    counted: str = ""

    @property
    def ready(self) -> bool:
        return READY in self.dots


def customer_standing(ticket: Ticket, now: datetime) -> CustomerStanding:
    """Read the pieces of a ticket (prefetch ``pieces__rack_place`` and ``pieces__holds``)."""
    pieces = [piece for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    if not pieces:
        return CustomerStanding("closed", wording.closed_words(ticket.closed_at))
    dots = tuple(sorted((dot_of(piece) for piece in pieces), key=DOTS.index))
    counted = wording.counted_words((dot, dots.count(dot)) for dot in DOTS if dot in dots)
    ready = [piece for piece in pieces if piece.state == PieceState.READY]
    if len(ready) == len(pieces):
        return CustomerStanding("ready", wording.ready_words(_places(ready)), dots, counted)
    behind = _furthest_behind([piece for piece in pieces if piece.state != PieceState.READY])
    words = wording.standing_words(len(ready), len(pieces), behind, _first_to_ask(pieces))
    if ticket.promised_at < now:
        return CustomerStanding("late", words, dots, counted)
    return CustomerStanding("held" if ON_HOLD in dots else "waiting", words, dots, counted)


def _places(pieces: Sequence[Piece]) -> str:
    codes = {piece.rack_place.code for piece in pieces if piece.rack_place}
    return ", ".join(sorted(codes))


def _furthest_behind(pieces: Sequence[Piece]) -> list[tuple[str, Station]]:
    """Dot and station of each piece, held ones first, then by the way that is left."""
    order = list(Station)
    stands = [(dot_of(piece), Station(piece.station)) for piece in pieces]
    return sorted(stands, key=lambda stand: (stand[0] != ON_HOLD, order.index(stand[1])))


def _first_to_ask(pieces: Sequence[Piece]) -> Hold | None:
    """The hold whose answer is due first."""
    holds = [hold for piece in pieces for hold in piece.holds.all() if hold.ended_at is None]
    return min(holds, key=lambda hold: (hold.ask_again_on, hold.pk), default=None)
