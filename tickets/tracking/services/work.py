"""Work at the stations of a route: done, asked about, sent back, decided anew."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import WORK_STATIONS, MoveKind, PieceState, Station
from tickets.errors import Kind, Refused
from tickets.models import Piece, RouteStep
from tickets.tracking.open_steps import at_station, open_steps
from tickets.tracking.refusals import must_be_here, must_follow
from tickets.tracking.services.moving import (
    Moved,
    lock_piece,
    move_once,
    set_done,
    settle,
    write_move,
)


def finish_work(piece_code: str, station: Station, act: Act, note: str = "") -> Moved:
    """The work of this station is done; the piece goes on to the station of its next step."""
    return move_once(act, lambda: _finish_work(piece_code, station, act, note))


def _finish_work(piece_code: str, station: Station, act: Act, note: str) -> Moved:
    piece = lock_piece(piece_code)
    if station not in WORK_STATIONS:
        raise Refused(
            "no_work_here",
            _("No step of a route is done at %(station)s.") % {"station": station.label},
            _("Match, rack or hand the piece over there instead."),
        )
    must_be_here(piece, station)
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
    return move_once(act, lambda: _answer_wet_check(piece_code, stain_gone, act, note))


def _answer_wet_check(piece_code: str, stain_gone: bool, act: Act, note: str) -> Moved:
    piece = lock_piece(piece_code)
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
        raise Refused(
            "no_reason", _("A redo needs a reason."), _("Say what is wrong."), kind=Kind.INVALID
        )
    return move_once(
        act,
        lambda: _send_back(lock_piece(piece_code), MoveKind.REDO, station, act, reason.strip()),
    )


def replace_route(piece: Piece, act: Act, reason: str) -> Moved:
    """Note that a piece's route was decided anew; it starts at the first open step's station."""
    steps = open_steps(piece)
    station = Station(steps[0].station) if steps else Station.ASSEMBLY
    done = [step.order for step in piece.steps.all() if step.done_at]
    return write_move(piece, MoveKind.REDECIDED, act, to_station=station, steps=done, reason=reason)


def _work(piece: Piece, kind: MoveKind, steps: Sequence[RouteStep], act: Act, note: str) -> Moved:
    set_done(piece, steps, act)
    following = open_steps(piece)
    station = Station(following[0].station) if following else Station.ASSEMBLY
    return write_move(
        piece,
        kind,
        act,
        to_station=station,
        steps=[step.order for step in steps],
        reason=note.strip(),
    )


def _send_back(piece: Piece, kind: MoveKind, station: Station, act: Act, reason: str) -> Moved:
    must_follow(piece, kind)
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
    set_done(piece, reopened, None)
    piece.redo_count += 1
    moved = write_move(
        piece,
        kind,
        act,
        to_station=station,
        steps=[step.order for step in reopened],
        reason=reason,
        place=None,
    )
    settle(piece.ticket, act)
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
