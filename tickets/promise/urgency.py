"""How urgent a piece is, in one word: the same sums as those of the late list."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from tickets.choices import CLOSED_STATES, PieceState
from tickets.errors import Refused
from tickets.models import Piece
from tickets.promise.expected import Outlook, outlook_of

LATE, AT_RISK, DUE, DONE = "late", "risk", "due", "done"
_DONE_STATES = (*CLOSED_STATES, PieceState.READY)

Urgency = Callable[[Piece], str]


def urgency_at(now: datetime) -> Urgency:
    """Says of any piece how urgent it is; all queries are made here, the same number always.

    ``late``: the promise is past. ``risk``: the piece itself is expected after it, so a ticket is
    at risk when any of its pieces is. In a shop that never opens nothing can be expected, and
    only what is past is told.
    """
    return urgency_by(outlook_at(now), now)


def outlook_at(now: datetime) -> Outlook | None:
    """What can be expected of every open ticket; None in a shop that never opens."""
    try:
        return outlook_of(now)
    except Refused:
        return None


def urgency_by(outlook: Outlook | None, now: datetime) -> Urgency:
    """As ``urgency_at``, from an outlook that is there already."""
    expected = outlook.pieces if outlook else {}

    def urgency(piece: Piece) -> str:
        if piece.state in _DONE_STATES:
            return DONE
        if piece.promised_at < now:
            return LATE
        return AT_RISK if expected.get(piece.pk, now) > piece.promised_at else DUE

    return urgency
