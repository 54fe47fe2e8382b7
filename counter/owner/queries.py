"""The moves and tickets that the figures of a day are counted from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet

from tickets.choices import CLOSED_STATES, MoveKind, PieceState, Station
from tickets.models import Move, Ticket
from tickets.shop.calendar import start_of

SENT_BACK = (MoveKind.REDO, MoveKind.STAIN_STILL_THERE)


WORK_DONE = (MoveKind.WORKED, MoveKind.STAIN_GONE, MoveKind.STAIN_STILL_THERE)


@dataclass(frozen=True)
class DayMoves:
    """The moves of a day, read once."""

    rows: Sequence[tuple[int, int, str, str, str, str, str]]

    @classmethod
    def read(cls, day: date) -> DayMoves:
        fields = (
            "piece_id",
            "number",
            "kind",
            "from_station",
            "to_station",
            "to_state",
            "reason",
        )
        moves = Move.objects.filter(business_day=day).order_by("piece_id", "number")
        return cls(list(moves.values_list(*fields)))

    def through_stations(self) -> tuple[Counter[str], Counter[str]]:
        """How many pieces came to and left each station."""
        came: Counter[str] = Counter()
        left: Counter[str] = Counter()
        for _piece, _number, _kind, origin, target, state, _reason in self.rows:
            if origin != target:
                came[target] += 1
                left[origin] += 1
            elif state in CLOSED_STATES:
                left[origin] += 1
        return came, left

    def sent_back(self) -> list[tuple[int, str, str]]:
        """Piece, station it goes back to, and why."""
        return [
            (piece, target, reason or str(MoveKind(kind).label))
            for piece, _number, kind, _origin, target, _state, reason in self.rows
            if kind in SENT_BACK
        ]

    def processed(self) -> set[int]:
        return {row[0] for row in self.rows if row[2] in WORK_DONE or row[2] in SENT_BACK}

    def inspected(self) -> dict[int, int | None]:
        """Piece -> number of the move that passed it at the check, None when it was sent back."""
        found: dict[int, int | None] = {}
        for piece, number, kind, origin, _target, _state, _reason in self.rows:
            if origin == Station.CHECK and kind == MoveKind.WORKED:
                found[piece] = number
            elif origin == Station.CHECK and kind in SENT_BACK:
                found.setdefault(piece, None)
        return found


def due_on(day: date) -> QuerySet[Ticket]:
    return Ticket.objects.filter(promise_day=day).order_by("promised_at", "number")


def racked_on(day: date) -> QuerySet[Ticket]:
    """Tickets that became fully racked on a day."""
    begins, ends = start_of(day), start_of(day + timedelta(days=1))
    return Ticket.objects.filter(ready_at__gte=begins, ready_at__lt=ends).order_by("ready_at")


def finished_moves(first: date, last: date) -> QuerySet[Move]:
    """Moves that racked a piece; hanging a ready piece at another place is none."""
    return Move.objects.filter(
        business_day__range=(first, last),
        kind=MoveKind.RACKED,
        from_state=PieceState.ASSEMBLED,
    )


def right_first_time(inspected: dict[int, int | None]) -> set[int]:
    """Inspected pieces that passed and were never sent back before that."""
    back: dict[int, int] = {}
    moves = Move.objects.filter(piece__in=list(inspected), kind__in=SENT_BACK).order_by()
    for piece, number in moves.values_list("piece_id", "number"):
        back[piece] = min(number, back.get(piece, number))
    return {
        piece
        for piece, passed in inspected.items()
        if passed is not None and back.get(piece, passed) >= passed
    }
