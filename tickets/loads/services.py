"""The only door through which a load changes, and through which pieces enter and leave it.

A load runs in a machine, or goes out to a partner in a bag: the same steps, with "start" for the
bag that is picked up and "finish" for the one that is back.

Each call locks ticket and piece, then the load, then the machine, always in this order; it writes
one append-only event, and a known one-time key returns the first result. Counting a piece out of a
finished load is the work of its station: ``tracking.finish_work`` writes the one Move.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import PieceState, Station
from tickets.errors import Kind, Refused
from tickets.loads import waiting
from tickets.loads.load_checks import (
    drum_of_load,
    must_agree,
    must_all_wait,
    must_be,
    must_be_empty,
    must_be_free,
    refigure,
)
from tickets.loads.together import effect_of_adding, programme_for, why_not_run
from tickets.models import Load, LoadEvent, LoadPiece, Machine, Partner, Piece
from tickets.models.machines import NO_DRUM, LeftHow, LoadEventKind, LoadState
from tickets.shop.calendar import business_day
from tickets.shop.machines import station_of
from tickets.shop.queries import read_calendar
from tickets.shop.rounds import Round
from tickets.tracking import services as tracking
from tickets.tracking.moving import lock_piece
from tickets.tracking.open_steps import at_station
from tickets.writing import atomic_write


@dataclass(frozen=True)
class Booked:
    """Result of a change. ``repeated`` means the key was known and nothing new was written."""

    load: Load
    event: LoadEvent
    steps: tuple[str, ...] = ()
    repeated: bool = False


class Drops(Refused):
    """Adding the piece would change the load's programme; ``programme`` is the key to agree to."""

    def __init__(self, says: str, cure: str, programme: str) -> None:
        super().__init__("drops_programme", says, cure)
        self.programme = programme


def open_load(machine_pk: int, codes: Sequence[str], act: Act) -> Booked:
    """Open a load for a machine with these pieces, or an empty one."""
    with atomic_write():
        pieces = [lock_piece(code) for code in sorted(set(codes))]
        if known := _known(act):
            return known
        machine = (
            Machine.objects.select_for_update()
            .filter(pk=machine_pk, in_use=True)
            .exclude(kind__in=NO_DRUM)
            .first()
        )
        if machine is None:
            raise Refused(
                "unknown_machine",
                _("There is no such machine in use."),
                _("Choose one that the page of loads shows."),
                kind=Kind.NOT_FOUND,
            )
        load = Load(machine=machine, station=station_of(machine.kind), opened_at=act.at)
        return _opened(load, pieces, act)


def open_bag(partner_pk: int, codes: Sequence[str], act: Act) -> Booked:
    """Open a bag for a partner with these pieces, or an empty one."""
    with atomic_write():
        pieces = [lock_piece(code) for code in sorted(set(codes))]
        if known := _known(act):
            return known
        partner = Partner.objects.select_for_update().filter(pk=partner_pk, in_use=True).first()
        if partner is None:
            raise Refused(
                "unknown_partner",
                _("There is no such partner in use."),
                _("Choose one that the page of bags shows."),
                kind=Kind.NOT_FOUND,
            )
        return _opened(
            Load(partner=partner, station=Station.SEND_OUT, opened_at=act.at), pieces, act
        )


def _opened(load: Load, pieces: Sequence[Piece], act: Act) -> Booked:
    wanted = []
    for piece in pieces:
        must_be_free(piece, load)
        wanted.append(waiting.load_piece(piece, Station(load.station)))
    if wanted and (why := why_not_run(wanted, drum_of_load(load))):
        raise Refused("not_together", why, _("Look at the proposals again."))
    load.save()
    LoadPiece.objects.bulk_create(
        LoadPiece(load=load, piece=piece, in_at=act.at) for piece in pieces
    )
    refigure(load)
    return Booked(load, _event(load, LoadEventKind.OPENED, act))


def add(load_pk: int, code: str, act: Act, agreed: str = "") -> Booked:
    """Count a piece in. Raises ``Drops`` unless ``agreed`` names the programme this leads to."""
    with atomic_write():
        piece, load = lock_piece(code), _lock(load_pk)
        if known := _known(act):
            return known
        must_be(load, LoadState.FILLING)
        must_be_free(piece, load)
        station = Station(load.station)
        there = [waiting.load_piece(each, station) for each in waiting.inside(load)]
        new, machine = waiting.load_piece(piece, station), drum_of_load(load)
        effect = effect_of_adding(there, new, machine)
        if not effect.may:
            raise Refused(
                "not_together",
                _("%(piece)s may not go into this load. %(why)s")
                % {"piece": piece.spoken, "why": effect.says},
                _("Leave it for another load."),
            )
        before, after = programme_for(there, machine), programme_for([*there, new], machine)
        if there and after != before and after is not None and after.key != agreed:
            raise Drops(f"{piece.spoken}: {effect.says}", _("Add it all the same?"), after.key)
        LoadPiece.objects.create(load=load, piece=piece, in_at=act.at)
        refigure(load)
        return Booked(load, _event(load, LoadEventKind.ADDED, act, piece), effect.steps)


def take_off(load_pk: int, code: str, act: Act) -> Booked:
    """Take a piece out of a load that is still being filled; it waits here as before."""
    with atomic_write():
        piece, load = lock_piece(code), _lock(load_pk)
        if known := _known(act):
            return known
        must_be(load, LoadState.FILLING)
        _leave(load, piece, LeftHow.TAKEN_OFF, act)
        refigure(load)
        return Booked(load, _event(load, LoadEventKind.TAKEN_OFF, act, piece))


def close(load_pk: int, act: Act) -> Booked:
    """Nothing goes in any more: the programme and the count stand."""
    with atomic_write():
        load = _lock(load_pk)
        if known := _known(act):
            return known
        must_be(load, LoadState.FILLING)
        pieces = waiting.inside(load)
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
        return Booked(load, _event(load, LoadEventKind.CLOSED, act))


def start(load_pk: int, act: Act) -> Booked:
    """The machine runs, or the bag is picked up.

    Refused while the machine holds another load, and names what is still in it.
    """
    with atomic_write():
        load = _lock(load_pk)
        if known := _known(act):
            return known
        must_be(load, LoadState.CLOSED)
        if load.machine_id is not None:
            must_be_empty(Machine.objects.select_for_update().get(pk=load.machine_id))
        pieces = waiting.inside(load)
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
        return Booked(load, _event(load, LoadEventKind.STARTED, act))


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
        load = _lock(load_pk)
        if known := _known(act):
            return known
        must_be(load, LoadState.RUNNING)
        load.state, load.finished_at = LoadState.FINISHED, act.at
        load.save(update_fields=["state", "finished_at"])
        return Booked(load, _event(load, LoadEventKind.FINISHED, act))


def count_out(load_pk: int, code: str, act: Act) -> Booked:
    """A piece comes out of the drum: its work here is done and it goes on. The last frees it.

    A piece that was stopped or moved on by another scan meanwhile is only counted.
    """
    with atomic_write():
        piece, load = lock_piece(code), _lock(load_pk)
        if known := _known(act):
            return known
        must_be(load, LoadState.FINISHED)
        _leave(load, piece, LeftHow.COUNTED_OUT, act)
        if piece.station == load.station and piece.state == PieceState.WAITING:
            steps = at_station(piece)
            if not steps or steps[0].step != "wet_check":
                tracking.finish_work(code, Station(load.station), act)
        _free_when_empty(load, act)
        return Booked(load, _event(load, LoadEventKind.COUNTED_OUT, act, piece))


def never_in(load_pk: int, code: str, act: Act) -> Booked:
    """The drum is empty and the piece was not in it: it still waits here, and is to be found.

    A piece that was not in a partner's bag is put on hold, to ask the partner the next day.
    """
    with atomic_write():
        piece, load = lock_piece(code), _lock(load_pk)
        if known := _known(act):
            return known
        must_be(load, LoadState.FINISHED)
        _leave(load, piece, LeftHow.NEVER_IN, act)
        if load.partner is not None and piece.state == PieceState.WAITING:
            _ask_partner(load, load.partner, piece, act)
        _free_when_empty(load, act)
        return Booked(load, _event(load, LoadEventKind.NEVER_IN, act, piece))


def _ask_partner(load: Load, partner: Partner, piece: Piece, act: Act) -> None:
    reason = _("Not in bag %(load)d when it came back: ask %(partner)s.") % {
        "load": load.pk,
        "partner": partner.name,
    }
    tracking.hold(piece.code, reason, act.by, business_day(act.at) + timedelta(days=1), act)


def undo(load_pk: int, act: Act) -> Booked:
    """Take the last step back: finished, running, closed, being filled, undone."""
    with atomic_write():
        load = _lock(load_pk)
        if known := _known(act):
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
        return Booked(load, _event(load, LoadEventKind.UNDONE, act))


def left_in(load: Load) -> list[Piece]:
    """Pieces counted in and not counted out."""
    return waiting.inside(load)


def missing_from(load: Load) -> list[LoadPiece]:
    """Pieces that were counted in and not found when the load was counted out."""
    rows = LoadPiece.objects.filter(load=load, how=LeftHow.NEVER_IN).select_related("piece")
    return list(rows)


def _lock(pk: int) -> Load:
    rows = Load.objects.select_for_update(of=("self",)).select_related("machine", "partner")
    load = rows.filter(pk=pk).first()
    if load is None:
        raise Refused(
            "unknown_load",
            _("There is no load %(load)d.") % {"load": pk},
            _("Choose one on the page of loads."),
            kind=Kind.NOT_FOUND,
        )
    return load


def _known(act: Act) -> Booked | None:
    if act.client_key is None:
        return None
    events = LoadEvent.objects.select_related("load__machine", "load__partner")
    event = events.filter(client_key=act.client_key).first()
    return Booked(event.load, event, repeated=True) if event else None


def _event(load: Load, kind: LoadEventKind, act: Act, piece: Piece | None = None) -> LoadEvent:
    return LoadEvent.objects.create(
        load=load,
        kind=kind,
        piece=piece,
        at=act.at,
        by=act.by,
        device=act.device,
        client_key=act.client_key,
    )


def _leave(load: Load, piece: Piece, how: LeftHow, act: Act) -> None:
    rows = LoadPiece.objects.filter(load=load, piece=piece)
    if rows.filter(left_at__isnull=True).update(left_at=act.at, how=how):
        return
    if rows.filter(how=LeftHow.COUNTED_OUT).exists():
        raise Refused(
            "counted_already",
            _("%(piece)s is counted out already.") % {"piece": piece.spoken},
            _("Scan the next piece."),
        )
    raise Refused(
        "not_in_load",
        _("%(piece)s was not counted into load %(load)d.")
        % {"piece": piece.spoken, "load": load.pk},
        _("Put it aside, look at its page, and say who put it in.")
        if load.is_bag
        else _("Put it aside, look at its page, and say who put it into the drum."),
    )


def _free_when_empty(load: Load, act: Act) -> None:
    if not LoadPiece.objects.filter(load=load, left_at__isnull=True).exists():
        load.state, load.emptied_at = LoadState.EMPTIED, act.at
        load.save(update_fields=["state", "emptied_at"])
