"""The only door through which a piece changes place or state.

Every function locks the piece, checks the transition table, writes one append-only Move and
updates the piece in the same transaction. A repeated client key returns the first result and
writes nothing. Refusals raise ``Refused`` and leave everything as it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, NoReturn

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from tickets import signals
from tickets.calendar import business_day
from tickets.choices import (
    CLOSED_STATES,
    TRANSITIONS,
    WORK_STATIONS,
    MoveKind,
    PieceState,
    Station,
)
from tickets.errors import Refused
from tickets.models import Hold, Move, Piece, RackPlace, RouteStep, Ticket
from tickets.writing import atomic_write

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


def finish_work(piece_code: str, station: Station, act: Act, note: str = "") -> Moved:
    """The work of this station is done; the piece goes on to the station of its next step."""
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        if station not in WORK_STATIONS:
            raise Refused(
                "no_work_here",
                _("No step of a route is done at %(station)s.") % {"station": station.label},
                _("Match, rack or hand the piece over there instead."),
            )
        _must_be_here(piece, station)
        steps = at_station(piece)
        if steps and steps[0].step == "wet_check":
            raise Refused(
                "wet_check_first",
                _("%(piece)s had a stain: is it gone?") % {"piece": piece.spoken},
                _("Look at the wet piece, then answer yes or no. Heat would set the stain."),
            )
        return _work(piece, MoveKind.WORKED, steps, act, note)


def answer_wet_check(piece_code: str, stain_gone: bool, act: Act, note: str = "") -> Moved:
    """Yes lets the piece go on to heat; no sends it back to spotting, or else to washing."""
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        steps = at_station(piece)
        if piece.state != PieceState.WAITING or not steps or steps[0].step != "wet_check":
            raise Refused(
                "no_wet_check",
                _("%(piece)s is not waiting for a wet check.") % {"piece": piece.spoken},
                _("Scan the piece to see what it waits for."),
            )
        if stain_gone:
            return _work(piece, MoveKind.STAIN_GONE, steps, act, note)
        done_at = [step.station for step in piece.steps.all() if step.done_at]
        if Station.SPOTTING in done_at:
            back_to = Station.SPOTTING
        else:
            back_to = Station(piece.station if piece.station in done_at else done_at[-1])
        return _send_back(piece, MoveKind.STAIN_STILL_THERE, back_to, act, note)


def send_back(piece_code: str, station: Station, reason: str, act: Act) -> Moved:
    """Redo: reopen the route from the last work done at a named station on, with a reason.

    A piece that was at the bench before and after washing goes back to the later bench work, so
    that a hem done twice does not mean a wash done twice.
    """
    if not reason.strip():
        raise Refused("no_reason", _("A redo needs a reason."), _("Say what is wrong."))
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        return _send_back(piece, MoveKind.REDO, station, act, reason.strip())


def hold(piece_code: str, reason: str, owner: User, ask_again_on: date, act: Act) -> Moved:
    """Stop a piece, with a reason, a person who owns the question and the day to ask again."""
    if not reason.strip():
        raise Refused("no_reason", _("A hold needs a reason."), _("Say what is being waited for."))
    if ask_again_on < business_day(act.at):
        raise Refused(
            "date_past",
            _("The day to ask again, %(day)s, is past.") % {"day": ask_again_on.isoformat()},
            _("Choose today or later."),
        )
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        moved = _write(piece, MoveKind.HELD, act, reason=reason.strip())
        Hold.objects.create(
            piece=piece,
            reason=reason.strip(),
            owner=owner,
            ask_again_on=ask_again_on,
            opened_at=act.at,
            opened_by=act.by,
        )
        _settle(piece.ticket_id, act)  # a ticket with a held piece is not ready
        return moved


def release(piece_code: str, outcome: str, act: Act) -> Moved:
    """End a hold with what came of it; the piece waits again where it stood."""
    if not outcome.strip():
        raise Refused("no_reason", _("Ending a hold needs its outcome."), _("Say what was agreed."))
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        station = None
        if piece.station in (Station.RACK, Station.PICKUP):
            station = Station.ASSEMBLY  # it left its place, so it must be matched again
        moved = _write(
            piece, MoveKind.RELEASED, act, to_station=station, reason=outcome.strip(), place=None
        )
        Hold.objects.filter(piece=piece, ended_at__isnull=True).update(
            ended_at=act.at, ended_by=act.by, outcome=outcome.strip()
        )
        return moved


def assemble(piece_code: str, act: Act) -> Moved:
    """Match a finished piece to its ticket at the assembly table."""
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        if piece.state == PieceState.ASSEMBLED:
            raise Refused(
                "already_matched",
                _("%(piece)s is matched to its ticket already.") % {"piece": piece.spoken},
                _("Scan the next piece."),
            )
        _must_be_here(piece, Station.ASSEMBLY)
        return _write(piece, MoveKind.ASSEMBLED, act)


def missing_at_assembly(ticket: Ticket) -> list[Piece]:
    """Open pieces of a ticket that have not been matched yet, in order."""
    return [
        piece
        for piece in ticket.pieces.order_by("position")
        if piece.is_open and piece.state not in (PieceState.ASSEMBLED, PieceState.READY)
    ]


def complete_ticket(ticket_number: int, act: Act, part_reason: str = "") -> list[Moved]:
    """Close the count of a ticket and send its pieces to the rack.

    Refuses while a piece is missing, unless ``part_reason`` says why a part goes ahead; the
    ticket then stays unready until the rest is racked too.
    """
    with atomic_write():
        ticket = lock_ticket(ticket_number)
        if act.client_key:
            earlier = Move.objects.filter(client_key__startswith=f"{act.client_key}/")
            if known := list(earlier.select_related("piece__ticket")):
                return [Moved(move.piece, move, repeated=True) for move in known]
        missing = missing_at_assembly(ticket)
        if missing and not part_reason.strip():
            raise Refused("incomplete", *_name_missing(ticket, missing))
        pieces = (
            ticket.pieces.select_for_update(of=("self",))
            .select_related("ticket", "rack_place")
            .filter(state=PieceState.ASSEMBLED, station=Station.ASSEMBLY)
        )
        moved = [
            _write(
                piece,
                MoveKind.TICKET_COMPLETE,
                _part_of(act, piece),
                to_station=Station.RACK,
                reason=part_reason.strip(),
            )
            for piece in pieces
        ]
        if not moved:
            raise Refused(
                "nothing_to_complete",
                _("Ticket %(ticket)s has no piece on the assembly table.")
                % {"ticket": ticket.number},
                _("Look at its pieces to see where they are."),
            )
        return moved


def rack(piece_code: str, place_code: str, act: Act) -> Moved:
    """Hang a piece at a place, or move it to another; the last one makes the ticket ready.

    A piece that hangs there already stays, and no second move is written.
    """
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        place = _place(place_code)
        allowed_from, _to = TRANSITIONS[MoveKind.RACKED]
        at_rack = piece.station in (Station.RACK, Station.PICKUP)
        if not at_rack or piece.state not in allowed_from:
            refuse_not_here(piece, Station.RACK)
        if piece.state == PieceState.READY and piece.rack_place == place:
            return Moved(piece, last_seen(piece), repeated=True)
        moved = _write(piece, MoveKind.RACKED, act, to_station=Station.PICKUP, place=place)
        _settle(piece.ticket_id, act)
        return moved


def hand_over(piece_code: str, ticket_number: int, act: Act) -> Moved:
    """Give a ready piece to the customer. Called by pickup, which checks count and balance."""
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        refuse_hand_over(piece, ticket_number)
        moved = _write(piece, MoveKind.COLLECTED, act, place=None)
        _settle(piece.ticket_id, act)
        return moved


def refuse_hand_over(piece: Piece, ticket_number: int) -> None:
    """Raise the reason why this piece may not leave on this ticket, if there is one."""
    if piece.ticket.number != ticket_number:
        raise Refused(
            "other_ticket",
            _("%(piece)s belongs to ticket %(other)s, not to %(ticket)s.")
            % {"piece": piece.spoken, "other": piece.ticket.number, "ticket": ticket_number},
            _("Put it back and look for the right piece."),
        )
    if piece.state == PieceState.HELD:
        held = piece.holds.filter(ended_at__isnull=True).first()
        raise Refused(
            "held",
            _("%(piece)s is on hold: %(reason)s")
            % {"piece": piece.spoken, "reason": held.reason if held else ""},
            _("End the hold first, or hand over the rest."),
        )
    if piece.state in CLOSED_STATES:
        raise Refused(
            "gone",
            _("%(piece)s has already left the shop.") % {"piece": piece.spoken},
            _("Its history shows when and with whom."),
        )
    if piece.state != PieceState.READY:
        raise Refused(
            "unfinished",
            _("%(piece)s is not finished: it waits at %(station)s.")
            % {"piece": piece.spoken, "station": piece.get_station_display()},
            _("Finish it, or hand over the rest and leave this one."),
        )


def return_undone(piece_code: str, reason: str, act: Act) -> Moved:
    """Give a piece back without the work, with a reason."""
    if not reason.strip():
        raise Refused("no_reason", _("A return needs a reason."), _("Say why it goes back."))
    with atomic_write():
        piece = _lock(piece_code)
        if repeated := already_done(act):
            return repeated
        moved = _write(piece, MoveKind.RETURNED, act, reason=reason.strip(), place=None)
        Hold.objects.filter(piece=piece, ended_at__isnull=True).update(
            ended_at=act.at, ended_by=act.by, outcome=reason.strip()
        )
        _settle(piece.ticket_id, act)
        return moved


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


def replace_route(piece: Piece, act: Act, reason: str) -> Moved:
    """Note that a piece's route was decided anew; it starts at the first open step's station."""
    steps = open_steps(piece)
    station = Station(steps[0].station) if steps else Station.ASSEMBLY
    done = [step.order for step in piece.steps.all() if step.done_at]
    return _write(
        piece, MoveKind.REDECIDED, act, to_station=station, steps=done, reason=reason
    )


def lock_ticket(number: int) -> Ticket:
    ticket = Ticket.objects.select_for_update().filter(number=number).first()
    if ticket is None:
        raise Refused(
            "unknown_ticket",
            _("There is no ticket %(ticket)s.") % {"ticket": number},
            _("Read the number again, or search by phone or name."),
        )
    return ticket


def last_seen(piece: Piece) -> Move:
    move = piece.moves.select_related("by").order_by("-number").first()
    assert move is not None  # every piece begins with an opening move
    return move


def _work(
    piece: Piece, kind: MoveKind, steps: Sequence[RouteStep], act: Act, note: str
) -> Moved:
    for step in steps:
        step.done_at, step.done_by = act.at, act.by
    RouteStep.objects.bulk_update(steps, ["done_at", "done_by"])
    done = {step.pk for step in steps}
    following = [s for s in open_steps(piece) if s.pk not in done]
    station = Station(following[0].station) if following else Station.ASSEMBLY
    return _write(
        piece,
        kind,
        act,
        to_station=station,
        steps=[step.order for step in steps],
        reason=note.strip(),
    )


def _send_back(piece: Piece, kind: MoveKind, station: Station, act: Act, reason: str) -> Moved:
    steps = list(piece.steps.all())
    if station not in [step.station for step in steps]:
        offered = dict.fromkeys(s.get_station_display() for s in steps)
        raise Refused(
            "not_on_route",
            _("The route of %(piece)s has no step at %(station)s.")
            % {"piece": piece.spoken, "station": station.label},
            _("Choose one of: %(stations)s.") % {"stations": ", ".join(map(str, offered))},
        )
    first = _last_done_run(steps, station)
    if first is None:
        raise Refused(
            "not_done_yet",
            _("%(piece)s has not been through %(station)s yet.")
            % {"piece": piece.spoken, "station": station.label},
            _("It will get there by itself; no redo is needed."),
        )
    reopened = [step for step in steps if step.order >= first.order and step.done_at]
    for step in reopened:
        step.done_at = step.done_by = None
    RouteStep.objects.bulk_update(reopened, ["done_at", "done_by"])
    piece.redo_count += 1
    moved = _write(
        piece,
        kind,
        act,
        to_station=station,
        steps=[step.order for step in reopened],
        reason=reason,
        place=None,
    )
    _settle(piece.ticket_id, act)
    return moved


def _last_done_run(steps: Sequence[RouteStep], station: Station) -> RouteStep | None:
    """First step of the latest run of neighbouring done steps at a station."""
    first = None
    for step in reversed(steps):
        if step.station == station and step.done_at:
            first = step
        elif first is not None:
            break
    return first


_KEEP = object()


def _write(
    piece: Piece,
    kind: MoveKind,
    act: Act,
    *,
    to_station: Station | None = None,
    steps: Sequence[int] = (),
    reason: str = "",
    place: RackPlace | object | None = _KEEP,
) -> Moved:
    """Check the table, add the move, update the piece. Must run inside ``atomic_write``."""
    allowed_from, to_state = TRANSITIONS[kind]
    if piece.state not in allowed_from:
        raise Refused(
            "wrong_state",
            _("%(piece)s is %(state)s at %(station)s, so this cannot be done: %(what)s.")
            % {
                "piece": piece.spoken,
                "state": PieceState(piece.state).label,
                "station": piece.get_station_display(),
                "what": kind.label,
            },
            _("Scan it at the station where it waits."),
        )
    station = to_station or Station(piece.station)
    if place is not _KEEP:
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


def _settle(ticket_id: int, act: Act) -> None:
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


def already_done(act: Act) -> Moved | None:
    """The first result of a client key that was used before."""
    if act.client_key is None:
        return None
    move = Move.objects.select_related("piece__ticket").filter(client_key=act.client_key).first()
    return Moved(move.piece, move, repeated=True) if move else None


def _part_of(act: Act, piece: Piece) -> Act:
    key = f"{act.client_key}/{piece.position}" if act.client_key else None
    return Act(by=act.by, device=act.device, client_key=key, at=act.at)


def _lock(code: str) -> Piece:
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
        )
    return piece


def _place(code: str) -> RackPlace:
    place = RackPlace.objects.filter(code=code.strip().upper(), in_use=True).first()
    if place is None:
        raise Refused(
            "unknown_place",
            _("There is no rack place %(place)s.") % {"place": code.strip() or "–"},
            _("Scan the label on the rack, or ask the owner to add the place."),
        )
    return place


def _must_be_here(piece: Piece, station: Station) -> None:
    if piece.station != station or piece.state != PieceState.WAITING:
        refuse_not_here(piece, station)


def refuse_not_here(piece: Piece, station: Station) -> NoReturn:
    """Raise where the piece waits instead, since when, with whom, and what to do about it."""
    raise Refused("not_here", *_not_here(piece, station))


def _not_here(piece: Piece, station: Station) -> tuple[str, str]:
    """Where the piece waits, since when and with whom, and what to do about it."""
    seen = last_seen(piece)
    facts = {
        "piece": piece.spoken,
        "here": Station(station).label,
        "there": piece.get_station_display(),
        "when": say_when(seen.at),
        "who": name_of(seen.by),
    }
    if piece.state == PieceState.HELD:
        held = piece.holds.filter(ended_at__isnull=True).first()
        facts["reason"] = held.reason if held else ""
        return (
            _("%(piece)s is on hold since %(when)s (%(who)s): %(reason)s") % facts,
            _("End the hold on the page of the piece first."),
        )
    if piece.state in CLOSED_STATES:
        return (
            _("%(piece)s left the shop on %(when)s (%(who)s).") % facts,
            _("If it is here, ask at the counter to take it in again."),
        )
    if piece.state == PieceState.READY:
        facts["place"] = piece.rack_place.code if piece.rack_place else ""
        return (
            _("%(piece)s is ready and hangs at %(place)s since %(when)s (%(who)s).") % facts,
            _("Hang it back there, or send it back with a reason on its page."),
        )
    if piece.state == PieceState.ASSEMBLED and piece.station == Station.ASSEMBLY:
        return (
            _("%(piece)s is matched since %(when)s (%(who)s), but its ticket is not complete.")
            % facts,
            _("Leave it on the assembly table until the rest is there."),
        )
    return (
        _("%(piece)s does not wait at %(here)s but at %(there)s since %(when)s (%(who)s).") % facts,
        _("Take it to %(there)s.") % facts,
    )


def _name_missing(ticket: Ticket, missing: Sequence[Piece]) -> tuple[str, str]:
    return (
        _("Ticket %(ticket)s is not complete. Missing: %(where)s.")
        % {"ticket": ticket.number, "where": "; ".join(map(say_where, missing))},
        _("Find the missing piece, or let a part go to the rack with a reason."),
    )


def say_where(piece: Piece) -> str:
    """Where a piece is and who had it last, for a list of what is missing."""
    seen = last_seen(piece)
    return _("%(piece)s: %(state)s at %(station)s, last seen %(when)s by %(who)s") % {
        "piece": piece.spoken,
        "state": PieceState(piece.state).label,
        "station": piece.get_station_display(),
        "when": say_when(seen.at),
        "who": name_of(seen.by),
    }


def say_when(at: datetime) -> str:
    """A moment in shop time, short: day, month, hour and minute."""
    return date_format(timezone.localtime(at), "j M, H:i")


def name_of(person: User) -> str:
    return person.get_full_name() or person.get_username()
