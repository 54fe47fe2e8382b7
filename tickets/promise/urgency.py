"""How urgent a piece is, in one word: the same sums as those of the late list."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

from tickets.choices import CLOSED_STATES, PieceState
from tickets.errors import Refused
from tickets.models import Piece
from tickets.promise.expected import Outlook
from tickets.promise.open_work import OpenWork, last_read, open_work
from tickets.promise.queue import OpenPiece

LATE, AT_RISK, DUE, DONE = "late", "risk", "due", "done"
_DONE_STATES = (*CLOSED_STATES, PieceState.READY)

Urgency = Callable[[Piece], str]


def urgency_at(now: datetime) -> Urgency:
    """Says of any piece how urgent it is, in as many queries as the open work takes.

    ``late``: the promise is past. ``risk``: the piece itself is expected after it, so a ticket is
    at risk when any of its pieces is. In a shop that never opens nothing can be expected, and
    only what is past is told.
    """
    return urgency_of(open_work(now), now)


def urgency_of_moved(moved: Iterable[OpenPiece], now: datetime) -> Urgency:
    """Of pieces that a scan has just changed, and of no other. Their tickets are reckoned anew,
    in the lines as this process read them last."""
    outlook = _outlook(last_read() or open_work(now))
    by_ticket: dict[int, list[OpenPiece]] = {}
    for row in moved:
        by_ticket.setdefault(row.ticket.number, []).append(row)
    ready: dict[int, datetime] = {}
    if outlook is not None:
        for rows in by_ticket.values():
            ready |= outlook.pieces_anew(rows)
    return _urgency(ready.get, now)


def urgency_of(work: OpenWork, now: datetime) -> Urgency:
    """As ``urgency_at``, from open work that is read already. No query."""
    return urgency_by(_outlook(work), now)


def outlook_at(now: datetime) -> Outlook | None:
    """What can be expected of every open ticket; None in a shop that never opens."""
    return _outlook(open_work(now))


def _outlook(work: OpenWork) -> Outlook | None:
    try:
        return work.outlook
    except Refused:
        return None


def urgency_by(outlook: Outlook | None, now: datetime) -> Urgency:
    """As ``urgency_at``, from an outlook that is there already. No query."""
    return _urgency(outlook.piece_ready if outlook else lambda _key: None, now)


def _urgency(ready_at: Callable[[int], datetime | None], now: datetime) -> Urgency:
    def urgency(piece: Piece) -> str:
        if piece.state in _DONE_STATES:
            return DONE
        if piece.promised_at < now:
            return LATE
        ready = ready_at(piece.pk)
        return AT_RISK if ready is not None and ready > piece.promised_at else DUE

    return urgency
