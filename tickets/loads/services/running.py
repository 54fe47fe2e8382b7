"""A load or bag is closed, started, finished, counted out, or taken one step back."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.loads import queries, wording
from tickets.loads.refusals import must_agree, must_all_wait, must_be, must_be_empty
from tickets.loads.services.booking import (
    Booked,
    booked_before,
    lock_load,
    note_event,
    refigure,
    take_out,
)
from tickets.models import Load, LoadPiece, Machine, Partner, Piece
from tickets.models.machines import LeftHow, LoadEventKind, LoadState
from tickets.shop.calendar import business_day
from tickets.shop.queries import read_calendar
from tickets.shop.rounds import Round
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station
from tickets.tracking.services import lock_piece
from tickets.writing import atomic_write


def close(load_pk: int, act: Act) -> Booked:
    """Nothing goes in any more: the programme and the count stand."""
    with atomic_write():
        load = lock_load(load_pk)
        if known := booked_before(act):
            return known
        must_be(load, LoadState.FILLING)
        pieces = queries.inside(load)
        if not pieces:
            raise Refused(
                "empty_load",
                _("Load %(load)d is empty.") % {"load": load.pk},
                _("Scan a piece into it, or undo it."),
            )
        must_all_wait(load, pieces)
        must_agree(load, pieces)
        refigure(load)
        load.state = LoadState.CLOSED
        load.save(update_fields=["state"])
        return Booked(load, note_event(load, LoadEventKind.CLOSED, act))


def start(load_pk: int, act: Act) -> Booked:
    """The machine runs, or the bag is picked up.

    Refused while the machine holds another load, and names what is still in it.
    """
    with atomic_write():
        load = lock_load(load_pk)
        if known := booked_before(act):
            return known
        must_be(load, LoadState.CLOSED)
        if load.machine_id is not None:
            must_be_empty(Machine.objects.select_for_update().get(pk=load.machine_id))
        pieces = queries.inside(load)
        must_all_wait(load, pieces)
        must_agree(load, pieces)
        closed_with = load.programme_id
        refigure(load)
        if load.programme_id != closed_with:
            raise Refused(
                "programme_changed",
                _("Since load %(load)d was closed its pieces ask for: %(programme)s.")
                % {"load": load.pk, "programme": load.programme},
                _("UNDO, look at the pieces, and CLOSE it again."),
            )
        load.state, load.started_at = LoadState.RUNNING, act.at
        load.ends_at = _ends_at(load, act.at)
        load.save(update_fields=["state", "started_at", "ends_at"])
        return Booked(load, note_event(load, LoadEventKind.STARTED, act))


def _ends_at(load: Load, at: datetime) -> datetime | None:
    """When the run is over or the bag is back; None for a partner who never comes."""
    if load.partner is None:
        return at + timedelta(minutes=load.minutes)
    try:
        return Round.of(load.partner).home(at, read_calendar().open_on)
    except Refused:  # the bag is at the door all the same
        return None


def finish(load_pk: int, act: Act) -> Booked:
    """The run is over. The machine stays busy until each piece counted in is counted out."""
    with atomic_write():
        load = lock_load(load_pk)
        if known := booked_before(act):
            return known
        must_be(load, LoadState.RUNNING)
        load.state, load.finished_at = LoadState.FINISHED, act.at
        load.save(update_fields=["state", "finished_at"])
        return Booked(load, note_event(load, LoadEventKind.FINISHED, act))


def count_out(load_pk: int, code: str, act: Act) -> Booked:
    """A piece comes out of the drum: its work here is done and it goes on. The last frees it.

    A piece that was stopped or moved on by another scan meanwhile is only counted.
    """
    with atomic_write():
        piece, load = lock_piece(code), lock_load(load_pk)
        if known := booked_before(act):
            return known
        must_be(load, LoadState.FINISHED)
        take_out(load, piece, LeftHow.COUNTED_OUT, act)
        if piece.station == load.station and piece.state == PieceState.WAITING:
            steps = at_station(piece)
            if not steps or steps[0].step != "wet_check":
                tracking.finish_work(code, Station(load.station), act)
        _free_when_empty(load, act)
        return Booked(load, note_event(load, LoadEventKind.COUNTED_OUT, act, piece))


def never_in(load_pk: int, code: str, act: Act) -> Booked:
    """The drum is empty and the piece was not in it: it still waits here, and is to be found.

    A piece that was not in a partner's bag is put on hold, to ask the partner the next day.
    """
    with atomic_write():
        piece, load = lock_piece(code), lock_load(load_pk)
        if known := booked_before(act):
            return known
        must_be(load, LoadState.FINISHED)
        take_out(load, piece, LeftHow.NEVER_IN, act)
        if load.partner is not None and piece.state == PieceState.WAITING:
            _ask_partner(load, load.partner, piece, act)
        _free_when_empty(load, act)
        return Booked(load, note_event(load, LoadEventKind.NEVER_IN, act, piece))


def _ask_partner(load: Load, partner: Partner, piece: Piece, act: Act) -> None:
    reason = wording.not_in_bag(load, partner)
    tracking.hold(piece.code, reason, act.by, business_day(act.at) + timedelta(days=1), act)


def undo(load_pk: int, act: Act) -> Booked:
    """Take the last step back: finished, running, closed, being filled, undone."""
    with atomic_write():
        load = lock_load(load_pk)
        if known := booked_before(act):
            return known
        rows = LoadPiece.objects.filter(load=load)
        if load.state == LoadState.FILLING:
            rows.filter(left_at__isnull=True).update(left_at=act.at, how=LeftHow.TAKEN_OFF)
            load.state = LoadState.UNDONE
        elif load.state == LoadState.CLOSED:
            load.state = LoadState.FILLING
        elif load.state == LoadState.RUNNING:
            load.state, load.started_at, load.ends_at = LoadState.CLOSED, None, None
        elif load.state == LoadState.FINISHED:
            if rows.filter(how__in=(LeftHow.COUNTED_OUT, LeftHow.NEVER_IN)).exists():
                raise Refused(
                    "counting_out",
                    _("Pieces of load %(load)d are counted out already.") % {"load": load.pk},
                    _("Count out the rest; send a piece back on its page if it must run again."),
                )
            load.state, load.finished_at = LoadState.RUNNING, None
        else:
            must_be(load, LoadState.FILLING)
        load.save(update_fields=["state", "started_at", "ends_at", "finished_at"])
        return Booked(load, note_event(load, LoadEventKind.UNDONE, act))


def _free_when_empty(load: Load, act: Act) -> None:
    if not LoadPiece.objects.filter(load=load, left_at__isnull=True).exists():
        load.state, load.emptied_at = LoadState.EMPTIED, act.at
        load.save(update_fields=["state", "emptied_at"])
