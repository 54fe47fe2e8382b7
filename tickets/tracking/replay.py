"""Rebuild a piece from its moves alone and compare it with what is stored.

Nothing is repaired here: a difference means that something wrote past ``tickets.tracking``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import QuerySet

from tickets.choices import CLOSED_STATES, TRANSITIONS, MoveKind, PieceState, Station
from tickets.models import Move, Piece, Ticket
from tickets.tracking import queries

_SENT_BACK = (MoveKind.REDO, MoveKind.STAIN_STILL_THERE)
_DID_WORK = (MoveKind.WORKED, MoveKind.STAIN_GONE)


@dataclass
class Rebuilt:
    """What the moves say of a piece; ``faults`` names moves that the transition table forbids."""

    state: str = ""
    station: str = ""
    rack_place: str = ""
    since: datetime | None = None
    done_steps: set[int] = field(default_factory=set)
    redo_count: int = 0
    move_count: int = 0
    faults: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Difference:
    """One thing stored that the moves do not say."""

    about: str
    what: str
    stored: object
    moves_say: object

    def __str__(self) -> str:
        return f"{self.about} {self.what}: stored {self.stored!s}, moves say {self.moves_say!s}"


def rebuild(moves: Iterable[Move]) -> Rebuilt:
    """Fold the moves of one piece, in order of their numbers, through ``TRANSITIONS``."""
    now = Rebuilt()
    for move in moves:
        now.move_count += 1
        if move.number != now.move_count:
            now.faults.append(f"move {move.number} stands where {now.move_count} is due")
        if move.kind == MoveKind.OPENED:
            if now.move_count != 1:
                now.faults.append(f"move {move.number} opens a piece that is open")
            now.state = PieceState.WAITING
        else:
            _follow(now, move)
        if move.to_state != now.state:
            now.faults.append(f"move {move.number} says {move.to_state}, its kind {now.state}")
        now.station = move.to_station
        now.rack_place = move.rack_place
        now.since = move.at
        if move.kind in _DID_WORK:
            now.done_steps |= set(move.steps)
        elif move.kind in _SENT_BACK:
            now.done_steps -= set(move.steps)
            now.redo_count += 1
        elif move.kind == MoveKind.REDECIDED:
            now.done_steps = set(move.steps)
    return now


def _follow(now: Rebuilt, move: Move) -> None:
    allowed_from, to_state = TRANSITIONS[MoveKind(move.kind)]
    if now.state not in allowed_from:
        now.faults.append(f"move {move.number}, {move.kind}, may not follow {now.state or '-'}")
    if (move.from_state, move.from_station) != (now.state, now.station):
        now.faults.append(
            f"move {move.number} starts from {move.from_state} at {move.from_station}, "
            f"but the piece was {now.state} at {now.station}"
        )
    now.state = to_state


def differences(pieces: QuerySet[Piece] | None = None) -> Iterator[Difference]:
    """Every difference between stored pieces and tickets and their moves, piece by piece."""
    chosen = queries.all_pieces() if pieces is None else pieces
    for piece in queries.with_history(chosen):
        yield from _of_piece(piece)
    for ticket in queries.whole_tickets(chosen):
        yield from _of_ticket(ticket)


def _of_piece(piece: Piece) -> Iterator[Difference]:
    moves: Sequence[Move] = list(piece.moves.all())
    said = rebuild(moves)
    for fault in said.faults:
        yield Difference(piece.spoken, "history", "-", fault)
    stored = {
        "state": piece.state,
        "station": piece.station,
        "rack place": piece.rack_place.code if piece.rack_place else "",
        "since": piece.since,
        "done steps": sorted(step.order for step in piece.steps.all() if step.done_at),
        "redo count": piece.redo_count,
        "move count": piece.move_count,
        "open holds": sum(hold.ended_at is None for hold in piece.holds.all()),
    }
    rebuilt = {
        "state": said.state,
        "station": said.station,
        "rack place": said.rack_place,
        "since": said.since,
        "done steps": sorted(said.done_steps),
        "redo count": said.redo_count,
        "move count": said.move_count,
        "open holds": int(said.state == PieceState.HELD),
    }
    for what, value in stored.items():
        if value != rebuilt[what]:
            yield Difference(piece.spoken, what, _plain(value), _plain(rebuilt[what]))
    upcoming = next((step.station for step in piece.steps.all() if not step.done_at), None)
    due = upcoming or Station.ASSEMBLY
    if said.state == PieceState.WAITING and said.station != due:
        yield Difference(piece.spoken, "next step", due, said.station)


def _of_ticket(ticket: Ticket) -> Iterator[Difference]:
    left = [piece.state for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    ready = all(state == PieceState.READY for state in left)  # nothing left counts as ready
    for what, stored, due in (
        ("ready", ticket.ready_at is not None, ready),
        ("closed", ticket.closed_at is not None, not left),
    ):
        if stored != due:
            yield Difference(str(ticket.number), what, stored, due)


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, datetime) else value if value != "" else "-"
