"""How far an open piece is, as the dot that stands for it on a page."""

from __future__ import annotations

from tickets.choices import PieceState, Station
from tickets.models import Piece

READY, UNDER_WAY, NOT_BEGUN, ON_HOLD, AWAY = "ok", "go", "wait", "hold", "out"
DOTS = (READY, UNDER_WAY, NOT_BEGUN, ON_HOLD, AWAY)
"""How the tag ``dots`` draws a piece, in the order of a row."""


def dot_of(piece: Piece) -> str:
    """How far an open piece is: a piece counts as begun once it has left the intake."""
    if piece.state == PieceState.READY:
        return READY
    if piece.state == PieceState.HELD:
        return ON_HOLD
    by_station = {Station.INTAKE: NOT_BEGUN, Station.SEND_OUT: AWAY}
    return by_station.get(Station(piece.station), UNDER_WAY)
