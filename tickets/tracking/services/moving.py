"""What every move is made of: the locks, the one-time key, the written row, the ticket's moments.

A move costs two queries to lock and read (ticket with piece; steps), one insert and two updates.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from django.db import IntegrityError
from django.db.models import Prefetch, prefetch_related_objects

from tickets import signals
from tickets.acting import Act
from tickets.choices import CLOSED_STATES, TRANSITIONS, MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.models import Move, Piece, RackPlace, RouteStep, Ticket
from tickets.shop.calendar import business_day
from tickets.tracking.queries import no_piece, no_ticket
from tickets.tracking.refusals import must_follow
from tickets.writing import atomic_write

_READ = (
    "ticket", "position", "code", "kind", "description", "set_mark", "promised_at", "state",
    "station", "since", "rack_place", "redo_count", "move_count",
    "ticket__number", "ticket__ready_at", "ticket__closed_at",
)  # fmt: skip
"""What a move needs of a piece and its ticket, and the answer to a scan shows: no large column."""

_STEP_READ = ("piece", "order", "step", "station", "done_at")


@dataclass(frozen=True)
class Moved:
    """Result of a move. ``repeated`` means the key was known and nothing new was written."""

    piece: Piece
    move: Move
    repeated: bool = False


def move_once(act: Act, move: Callable[[], Moved]) -> Moved:
    """Make a move in a transaction of its own; a key that was used before gives its first result.

    The key is looked up only where the move can't be made, for a key can't be written twice.
    """
    try:
        with atomic_write():
            return move()
    except (Refused, IntegrityError):
        if earlier := already_done(act):
            return earlier
        raise


def already_done(act: Act) -> Moved | None:
    """The first result of a one-time key that was used before."""
    if act.client_key is None:
        return None
    earlier = Move.objects.filter(client_key=act.client_key, key_part=act.key_part)
    move = earlier.select_related("piece__ticket").first()
    return Moved(move.piece, move, repeated=True) if move else None


def lock_ticket(number: int) -> Ticket:
    ticket = Ticket.objects.select_for_update().filter(number=number).first()
    if ticket is None:
        raise no_ticket(number)
    return ticket


def lock_piece(code: str) -> Piece:
    """Lock a piece and its ticket and read its steps: two queries.

    The ticket is named first, so that PostgreSQL locks it first; whoever locks a ticket and then
    its pieces goes the same way. The rack place is not joined: only what is locked is read as it
    stands after the wait.
    """
    piece = (
        Piece.objects.select_for_update(of=("ticket", "self"))
        .select_related("ticket")
        .only(*_READ)
        .filter(code=code)
        .first()
    )
    if piece is None:
        raise no_piece(code)
    steps = RouteStep.objects.order_by("order").only(*_STEP_READ)
    prefetch_related_objects([piece], Prefetch("steps", steps))
    return piece


KEEP_PLACE = object()


def write_move(
    piece: Piece,
    kind: MoveKind,
    act: Act,
    *,
    to_station: Station | None = None,
    steps: Sequence[int] = (),
    reason: str = "",
    place: RackPlace | object | None = KEEP_PLACE,
) -> Moved:
    """Check the table, add the move, update the piece. Must run inside ``atomic_write``."""
    must_follow(piece, kind)
    to_state = TRANSITIONS[kind][1]
    station = to_station or Station(piece.station)
    if place is not KEEP_PLACE:
        piece.rack_place = place  # type: ignore[assignment]
    elif to_state != PieceState.READY:
        piece.rack_place = None
    move = Move(
        piece=piece,
        number=piece.move_count + 1,
        kind=kind,
        from_state=piece.state,
        to_state=to_state,
        from_station=piece.station,
        to_station=station,
        rack_place=piece.rack_place.code if piece.rack_place else "",
        steps=list(steps),
        reason=reason[:300],
        at=act.at,
        business_day=business_day(act.at),
        by=act.by,
        device=act.device,
        client_key=act.client_key,
        key_part=act.key_part,
    )
    move.save(force_insert=True)
    piece.state, piece.station, piece.since = to_state, station, act.at
    piece.move_count += 1
    piece.save(
        update_fields=["state", "station", "since", "rack_place", "redo_count", "move_count"]
    )
    return Moved(piece, move)


def set_done(piece: Piece, steps: Iterable[RouteStep], act: Act | None) -> None:
    """Note steps of a piece as done in an act, or with None as open again: one update."""
    done_at, done_by = (act.at, act.by) if act else (None, None)
    changed = list(steps)
    for step in changed:
        step.done_at, step.done_by = done_at, done_by
    piece.steps.filter(pk__in=[step.pk for step in changed]).update(
        done_at=done_at, done_by=done_by
    )


def settle(ticket: Ticket, act: Act) -> None:
    """Set or clear a locked ticket's ready and closed moments after a piece arrived or left."""
    states = list(ticket.pieces.order_by().values_list("state", flat=True))
    still_open = [state for state in states if state not in CLOSED_STATES]
    was_ready = ticket.ready_at is not None
    ready = bool(still_open) and all(state == PieceState.READY for state in still_open)
    closed = not still_open
    ready_at = (ticket.ready_at or act.at) if ready or closed else None
    closed_at = (ticket.closed_at or act.at) if closed else None
    if (ready_at, closed_at) != (ticket.ready_at, ticket.closed_at):
        ticket.ready_at, ticket.closed_at = ready_at, closed_at
        ticket.save(update_fields=["ready_at", "closed_at"])
    if ready and not was_ready:
        signals.ticket_ready.send(sender=Ticket, ticket=ticket)


def first_moves(pieces: Sequence[Piece], act: Act) -> None:
    """Write the moves that open the pieces' histories; they are already in their first place."""
    Move.objects.bulk_create(
        Move(
            piece=piece,
            number=1,
            kind=MoveKind.OPENED,
            to_state=piece.state,
            to_station=piece.station,
            at=act.at,
            business_day=business_day(act.at),
            by=act.by,
            device=act.device,
        )
        for piece in pieces
    )
