"""The only door through which a load changes, and through which pieces enter and leave it.

Each call locks ticket and piece, then the load, then the machine, always in this order; it writes
one append-only event, and a known one-time key returns the first result. Counting a piece out of a
finished load is the work of its station: ``tracking.finish_work`` writes the one Move.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tickets import loadfloor, loadsums, tracking
from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.loads import facts
from tickets.loads.plans import Run
from tickets.loads.together import effect_of_adding, programme_for, why_not_run
from tickets.machinery import Machinery, station_of, washer_spin_g
from tickets.models import Load, LoadEvent, LoadPiece, Machine, Piece, Programme
from tickets.models.machines import IN_MACHINE, OPEN_LOADS, LeftHow, LoadEventKind, LoadState
from tickets.tracking import Act
from tickets.tracking.base import lock_piece
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
        machine = Machine.objects.select_for_update().filter(pk=machine_pk, in_use=True).first()
        if machine is None:
            raise Refused(
                "unknown_machine",
                _("There is no such machine in use."),
                _("Choose one that the page of loads shows."),
            )
        load = Load(machine=machine, station=station_of(machine.kind), opened_at=act.at)
        wanted = []
        for piece in pieces:
            _must_be_free(piece, load)
            wanted.append(loadfloor.load_piece(piece, Station(load.station)))
        if wanted and (why := why_not_run(wanted, _machine_facts(load))):
            raise Refused("not_together", why, _("Look at the proposals again."))
        load.save()
        LoadPiece.objects.bulk_create(
            LoadPiece(load=load, piece=piece, in_at=act.at) for piece in pieces
        )
        _refigure(load)
        return Booked(load, _event(load, LoadEventKind.OPENED, act))


def add(load_pk: int, code: str, act: Act, agreed: str = "") -> Booked:
    """Count a piece in. Raises ``Drops`` unless ``agreed`` names the programme this leads to."""
    with atomic_write():
        piece, load = lock_piece(code), _lock(load_pk)
        if known := _known(act):
            return known
        _must_be(load, LoadState.FILLING)
        _must_be_free(piece, load)
        station = Station(load.station)
        there = [loadfloor.load_piece(each, station) for each in loadfloor.inside(load)]
        new, machine = loadfloor.load_piece(piece, station), _machine_facts(load)
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
        _refigure(load)
        return Booked(load, _event(load, LoadEventKind.ADDED, act, piece), effect.steps)


def take_off(load_pk: int, code: str, act: Act) -> Booked:
    """Take a piece out of a load that is still being filled; it waits here as before."""
    with atomic_write():
        piece, load = lock_piece(code), _lock(load_pk)
        if known := _known(act):
            return known
        _must_be(load, LoadState.FILLING)
        _leave(load, piece, LeftHow.TAKEN_OFF, act)
        _refigure(load)
        return Booked(load, _event(load, LoadEventKind.TAKEN_OFF, act, piece))


def close(load_pk: int, act: Act) -> Booked:
    """Nothing goes in any more: the programme and the count stand."""
    with atomic_write():
        load = _lock(load_pk)
        if known := _known(act):
            return known
        _must_be(load, LoadState.FILLING)
        pieces = loadfloor.inside(load)
        if not pieces:
            raise Refused(
                "empty_load",
                _("Load %(load)d is empty.") % {"load": load.pk},
                _("Scan a piece into it, or undo it."),
            )
        _must_all_wait(load, pieces)
        _must_agree(load, pieces)
        _refigure(load)
        load.state = LoadState.CLOSED
        load.save(update_fields=["state"])
        return Booked(load, _event(load, LoadEventKind.CLOSED, act))


def start(load_pk: int, act: Act) -> Booked:
    """The machine runs. Refused while it holds another load, and names what is still in it."""
    with atomic_write():
        load = _lock(load_pk)
        if known := _known(act):
            return known
        _must_be(load, LoadState.CLOSED)
        machine = Machine.objects.select_for_update().get(pk=load.machine_id)
        _must_be_empty(machine)
        pieces = loadfloor.inside(load)
        _must_all_wait(load, pieces)
        _must_agree(load, pieces)
        closed_with = load.programme_id
        _refigure(load)
        if load.programme_id != closed_with:
            raise Refused(
                "programme_changed",
                _("Since load %(load)d was closed its pieces ask for: %(programme)s.")
                % {"load": load.pk, "programme": load.programme},
                _("UNDO, look at the pieces, and CLOSE it again."),
            )
        load.state, load.started_at = LoadState.RUNNING, act.at
        load.ends_at = act.at + timedelta(minutes=load.minutes)
        load.save(update_fields=["state", "started_at", "ends_at"])
        return Booked(load, _event(load, LoadEventKind.STARTED, act))


def finish(load_pk: int, act: Act) -> Booked:
    """The run is over. The machine stays busy until each piece counted in is counted out."""
    with atomic_write():
        load = _lock(load_pk)
        if known := _known(act):
            return known
        _must_be(load, LoadState.RUNNING)
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
        _must_be(load, LoadState.FINISHED)
        _leave(load, piece, LeftHow.COUNTED_OUT, act)
        if piece.station == load.station and piece.state == PieceState.WAITING:
            steps = tracking.at_station(piece)
            if not steps or steps[0].step != "wet_check":
                tracking.finish_work(code, Station(load.station), act)
        _free_when_empty(load, act)
        return Booked(load, _event(load, LoadEventKind.COUNTED_OUT, act, piece))


def never_in(load_pk: int, code: str, act: Act) -> Booked:
    """The drum is empty and the piece was not in it: it still waits here, and is to be found."""
    with atomic_write():
        piece, load = lock_piece(code), _lock(load_pk)
        if known := _known(act):
            return known
        _must_be(load, LoadState.FINISHED)
        _leave(load, piece, LeftHow.NEVER_IN, act)
        _free_when_empty(load, act)
        return Booked(load, _event(load, LoadEventKind.NEVER_IN, act, piece))


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
            _must_be(load, LoadState.FILLING)
        load.save(update_fields=["state", "started_at", "ends_at", "finished_at"])
        return Booked(load, _event(load, LoadEventKind.UNDONE, act))


def left_in(load: Load) -> list[Piece]:
    """Pieces counted in and not counted out."""
    return loadfloor.inside(load)


def open_load_of(piece: Piece) -> Load | None:
    """The load that a piece belongs to now."""
    row = LoadPiece.objects.select_related("load__machine").filter(
        piece=piece, left_at__isnull=True
    )
    found = row.first()
    return found.load if found else None


def _lock(pk: int) -> Load:
    rows = Load.objects.select_for_update(of=("self",)).select_related("machine")
    load = rows.filter(pk=pk).first()
    if load is None:
        raise Refused(
            "unknown_load",
            _("There is no load %(load)d.") % {"load": pk},
            _("Choose one on the page of loads."),
        )
    return load


def _known(act: Act) -> Booked | None:
    if act.client_key is None:
        return None
    event = (
        LoadEvent.objects.select_related("load__machine").filter(client_key=act.client_key).first()
    )
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


_NEXT = {
    LoadState.FILLING: gettext_lazy("Scan pieces into it, then CLOSE."),
    LoadState.CLOSED: gettext_lazy("START it, or UNDO to change it."),
    LoadState.RUNNING: gettext_lazy("FINISH it when the run is over."),
    LoadState.FINISHED: gettext_lazy("Scan each piece out of it."),
    LoadState.EMPTIED: gettext_lazy("Open a new load."),
    LoadState.UNDONE: gettext_lazy("Open a new load."),
}


def _must_be(load: Load, state: LoadState) -> None:
    if load.state != state:
        now = LoadState(load.state)
        raise Refused(
            "wrong_state",
            _("Load %(load)d is: %(now)s.") % {"load": load.pk, "now": now.label},
            str(_NEXT[now]),
        )


def _must_be_free(piece: Piece, load: Load) -> None:
    """The piece waits at the load's station and is in no open load."""
    if piece.station != load.station or piece.state != PieceState.WAITING:
        tracking.refuse_not_here(piece, Station(load.station))
    if (other := open_load_of(piece)) is not None:
        raise Refused(
            "in_a_load",
            _("%(piece)s is in load %(load)d, %(machine)s.")
            % {"piece": piece.spoken, "load": other.pk, "machine": other.machine.name},
            _("Take it off there first."),
        )


def _must_all_wait(load: Load, pieces: Sequence[Piece]) -> None:
    gone = [p for p in pieces if p.station != load.station or p.state != PieceState.WAITING]
    if gone:
        raise Refused(
            "left_the_load",
            _("Not waiting here any more: %(pieces)s.")
            % {"pieces": "; ".join(map(tracking.say_where, gone))},
            _("Undo to filling and take it off."),
        )


def _must_agree(load: Load, pieces: Sequence[Piece]) -> None:
    """A decision made again, or a machine changed, may have parted what was put together."""
    wanted = [loadfloor.load_piece(each, Station(load.station)) for each in pieces]
    if why := why_not_run(wanted, _machine_facts(load)):
        raise Refused("not_together", why, _("Undo to filling and take one of them off."))


def _must_be_empty(machine: Machine) -> None:
    held = Load.objects.filter(machine=machine, state__in=IN_MACHINE).first()
    if held is None:
        return
    named = ", ".join(piece.spoken for piece in left_in(held))
    raise Refused(
        "machine_busy",
        _("%(machine)s is not free: load %(load)d, %(state)s. In the drum: %(pieces)s.")
        % {
            "machine": machine.name,
            "load": held.pk,
            "state": LoadState(held.state).label,
            "pieces": named,
        },
        _("Count that load out first."),
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
        _("Put it aside, look at its page, and say who put it into the drum."),
    )


def _free_when_empty(load: Load, act: Act) -> None:
    if not LoadPiece.objects.filter(load=load, left_at__isnull=True).exists():
        load.state, load.emptied_at = LoadState.EMPTIED, act.at
        load.save(update_fields=["state", "emptied_at"])


def _machine_facts(load: Load) -> facts.Machine:
    found = Machinery(Station(load.station), load.opened_at).facts_of(load.machine)
    if found is None:
        raise Refused(
            "no_programme",
            _("%(machine)s has no programme in use.") % {"machine": load.machine.name},
            _("Ask the owner to set one on the page of machines."),
        )
    return found


def _refigure(load: Load) -> None:
    """Programme and estimates follow the pieces."""
    station = Station(load.station)
    pieces = [loadfloor.load_piece(each, station) for each in loadfloor.inside(load)]
    machine = _machine_facts(load)
    programme = programme_for(pieces, machine) if pieces else None
    if programme is None:
        load.programme, load.grams, load.fill_percent, load.minutes = None, 0, 0, 0
        load.water_litres = load.energy_kwh = Decimal(0)
    else:
        load.programme = Programme.objects.get(kind=load.machine.kind, key=programme.key)
        sums = loadsums.run_sums(
            pieces,
            programme,
            machine.litres,
            heat_pump=load.machine.heat_pump,
            spin_g=washer_spin_g(Machine.objects.all()),
        )
        load.grams = sum(piece.grams for piece in pieces)
        load.fill_percent = round(100 * Run(machine, programme, tuple(pieces), 0, 0).fill)
        load.minutes = sums.minutes
        load.water_litres = Decimal(str(round(sums.water_l, 1)))
        load.energy_kwh = Decimal(str(round(sums.energy_kwh, 2)))
    load.save(
        update_fields=[
            "programme",
            "grams",
            "fill_percent",
            "minutes",
            "water_litres",
            "energy_kwh",
        ]
    )


assert set(_NEXT) == {*OPEN_LOADS, LoadState.EMPTIED, LoadState.UNDONE}
