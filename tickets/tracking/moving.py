"""What every move is made of: the act, the locks, the written row, the ticket's own moments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from django.utils import timezone
from django.utils.translation import gettext as _

from tickets import signals
from tickets.choices import CLOSED_STATES, TRANSITIONS, MoveKind, PieceState, Station
from tickets.errors import Kind, Refused
from tickets.models import Move, Piece, RackPlace, RouteStep, Ticket
from tickets.shop.calendar import business_day

if TYPE_CHECKING:
    from django.contrib.auth.models import User


@dataclass(frozen=True)
class Act:
    """Who does it, from which device, when, and the one-time key that makes it happen once."""

    by: User
    device: str = ""
    client_key: str | None = None
    at: datetime = field(default_factory=timezone.now)


@dataclass(frozen=True)
class Moved:
    """Result of a move. ``repeated`` means the key was known and nothing new was written."""

    piece: Piece
    move: Move
    repeated: bool = False


def open_steps(piece: Piece) -> list[RouteStep]:
    return [step for step in piece.steps.all() if step.done_at is None]


def at_station(piece: Piece) -> list[RouteStep]:
    """The next open steps that belong together at the piece's station, in order.

    A wet check always stands alone: it needs an answer of its own.
    """
    found: list[RouteStep] = []
    for step in open_steps(piece):
        if step.station != piece.station or (found and step.step == "wet_check"):
            break
        found.append(step)
        if step.step == "wet_check":
            break
    return found


def lock_ticket(number: int) -> Ticket:
    ticket = Ticket.objects.select_for_update().filter(number=number).first()
    if ticket is None:
        raise Refused(
            "unknown_ticket",
            _("There is no ticket %(ticket)s.") % {"ticket": number},
            _("Read the number again, or search by phone or name."),
            kind=Kind.NOT_FOUND,
        )
    return ticket


def lock_piece(code: str) -> Piece:
    """Lock the ticket, then the piece: always in this order, so that no two moves deadlock."""
    Ticket.objects.select_for_update(of=("self",)).filter(pieces__code=code).first()
    piece = (
        Piece.objects.select_for_update(of=("self",))
        .select_related("ticket", "rack_place")
        .prefetch_related("steps")
        .filter(code=code)
        .first()
    )
    if piece is None:
        raise Refused(
            "unknown_piece",
            _("There is no piece %(code)s.") % {"code": code},
            _("Scan the tag again, or type the number under the bars."),
            kind=Kind.NOT_FOUND,
        )
    return piece


def already_done(act: Act) -> Moved | None:
    """The first result of a client key that was used before."""
    if act.client_key is None:
        return None
    move = Move.objects.select_related("piece__ticket").filter(client_key=act.client_key).first()
    return Moved(move.piece, move, repeated=True) if move else None


def last_seen(piece: Piece) -> Move:
    move = piece.moves.select_related("by").order_by("-number").first()
    assert move is not None  # every piece begins with an opening move
    return move


def must_follow(piece: Piece, kind: MoveKind) -> None:
    """Raise why this kind of move may not follow the state of the piece, if it may not."""
    if piece.state in TRANSITIONS[kind][0]:
        return
    if piece.state == PieceState.HELD:
        cure = _("End the hold on the page of the piece first.")
    elif piece.state in CLOSED_STATES:
        cure = _("It has left the shop. If it is here, ask at the counter to take it in again.")
    else:
        cure = _("Look at its page: somebody may have changed it meanwhile.")
    raise Refused(
        "wrong_state",
        _("%(piece)s is %(state)s at %(station)s, so this cannot be done: %(what)s.")
        % {
            "piece": piece.spoken,
            "state": PieceState(piece.state).label,
            "station": piece.get_station_display(),
            "what": kind.label,
        },
        cure,
    )


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
    )
    move.save(force_insert=True)
    piece.state, piece.station, piece.since = to_state, station, act.at
    piece.move_count += 1
    piece.save(
        update_fields=["state", "station", "since", "rack_place", "redo_count", "move_count"]
    )
    return Moved(piece, move)


def settle(ticket_id: int, act: Act) -> None:
    """Set or clear the ticket's ready and closed moments after a piece arrived or left."""
    ticket = Ticket.objects.select_for_update().get(pk=ticket_id)
    states = list(ticket.pieces.values_list("state", flat=True))
    still_open = [state for state in states if state not in CLOSED_STATES]
    was_ready = ticket.ready_at is not None
    ready = bool(still_open) and all(state == PieceState.READY for state in still_open)
    closed = not still_open
    if ready or closed:
        ticket.ready_at = ticket.ready_at or act.at
    else:
        ticket.ready_at = None
    ticket.closed_at = (ticket.closed_at or act.at) if closed else None
    ticket.save(update_fields=["ready_at", "closed_at"])
    if ready and not was_ready:
        signals.ticket_ready.send(sender=Ticket, ticket=ticket)


def first_move(piece: Piece, act: Act) -> Moved:
    """Write the move that opens a piece's history; the piece is already in its first place."""
    move = Move.objects.create(
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
    return Moved(piece, move)


def part_of(act: Act, piece: Piece) -> Act:
    key = f"{act.client_key}/{piece.position}" if act.client_key else None
    return Act(by=act.by, device=act.device, client_key=key, at=act.at)
