"""The shop's machines and programmes: what the owner sets, and how the planner reads it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from care_rules.limits import ACTIONS, SPINS, TUMBLES
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import Load, Machine, MachineKind, Programme
from tickets.models.machines import (
    DRYING_PLACES,
    IN_MACHINE,
    NO_DRUM,
    ONE_PERSON,
    OPEN_LOADS,
    LoadState,
)
from tickets.shop import figures
from tickets.shop.machine_facts import (
    TUMBLE,
    WASHER_RATIO,
    MachineFacts,
    ProgrammeFacts,
    dryer_programmes,
    sink_programmes,
    solvent_programmes,
    usual_programmes,
    wet_programmes,
)
from tickets.writing import atomic_write

LOAD_STATIONS = (Station.WASH, Station.DRY, Station.SEND_OUT)
"""Stations where pieces go into machines or bags together."""

_PROCESS = {
    MachineKind.WASHER: "machine_wash",
    MachineKind.HAND_SINK: "hand_wash",
    MachineKind.WET_CLEANER: "wet_clean",
    MachineKind.SOLVENT_P: "dry_clean",
    MachineKind.SOLVENT_F: "dry_clean",
    MachineKind.DRYER: TUMBLE,
}
"""Kinds with a drum or a basin; the others have no programmes."""

_SOLVENT = {MachineKind.SOLVENT_P: "P", MachineKind.SOLVENT_F: "F"}


def station_of(kind: str) -> Station:
    if kind in ONE_PERSON:
        return Station.PRESS
    return Station.DRY if kind in (MachineKind.DRYER, *DRYING_PLACES) else Station.WASH


def washer_spin_g(machines: Iterable[Machine]) -> float:
    """The weakest spin of the washers in use that state one: what comes to the dryer at worst."""
    spins = [m.spin_g for m in machines if m.in_use and m.kind == MachineKind.WASHER and m.spin_g]
    return float(min(spins, default=0))


def rated_litres(kilograms: Decimal) -> Decimal:
    """Drum volume of a washer known by its rated kilograms of cotton."""
    return kilograms * Decimal(str(figures.number(WASHER_RATIO)))


# What the owner sets


def save_machine(machine: Machine, only: Iterable[Programme] | None = None) -> Machine:
    """Add or change a machine. The first of its kind brings the usual programmes with it.

    ``only`` are the programmes of its kind that it can run, none of them meaning all; left out,
    they stay as they are.
    """
    if machine.pk and (changed := _changed_kind(machine)):
        raise Refused(
            "kind_fixed",
            _("%(machine)s stays a %(kind)s: its loads hang on it.")
            % {"machine": machine.name, "kind": changed},
            _("Take it out of use and add a new machine."),
        )
    if machine.pk and not machine.in_use:
        _must_be_empty(machine)
    if machine.kind in ONE_PERSON:
        machine.litres, machine.spin_g, machine.most_pieces = Decimal(0), 0, 1
    elif machine.kind in DRYING_PLACES:
        machine.litres, machine.spin_g, machine.turnaround = Decimal(0), 0, 0
        if not machine.most_pieces:
            raise Refused(
                "no_places",
                _("%(machine)s holds %(count)d pieces.") % {"machine": machine.name, "count": 0},
                _("Say how many pieces it holds at once."),
            )
    elif machine.litres <= 0:
        raise Refused(
            "no_drum",
            _("%(machine)s has %(litres)s litres of drum.")
            % {"machine": machine.name, "litres": machine.litres},
            _("Give the litres of its drum or basin."),
        )
    chosen = None if only is None else list(only)
    if chosen and (other := next((p for p in chosen if p.kind != machine.kind), None)):
        raise Refused(
            "other_kind",
            _("%(programme)s is a programme of another kind of machine.")
            % {"programme": other.name},
            _("Tick programmes of its own kind."),
        )
    with atomic_write():
        machine.save()
        known = Programme.objects.filter(kind=machine.kind).exists()
        if machine.kind not in NO_DRUM and not known:
            add_usual_programmes(MachineKind(machine.kind))
        if chosen is not None:
            machine.programmes.set(chosen)
    return machine


def _changed_kind(machine: Machine) -> str:
    old = Machine.objects.filter(pk=machine.pk).exclude(kind=machine.kind).first()
    return str(old.get_kind_display()) if old and old.loads.exists() else ""


def _must_be_empty(machine: Machine) -> None:
    open_load = machine.loads.filter(state__in=OPEN_LOADS).first()
    if open_load is not None:
        raise Refused(
            "machine_busy",
            _("%(machine)s has load %(load)d, which is not emptied.")
            % {"machine": machine.name, "load": open_load.pk},
            _("Finish or undo that load first."),
        )


def add_usual_programmes(kind: MachineKind) -> list[Programme]:
    """The programmes that machines of a kind commonly have; the shop corrects minutes and names."""
    usual = {
        MachineKind.WASHER: usual_programmes,
        MachineKind.HAND_SINK: sink_programmes,
        MachineKind.WET_CLEANER: wet_programmes,
        MachineKind.SOLVENT_P: lambda: solvent_programmes("P"),
        MachineKind.SOLVENT_F: lambda: solvent_programmes("F"),
        MachineKind.DRYER: dryer_programmes,
    }[kind]()
    return Programme.objects.bulk_create(
        Programme(
            kind=kind,
            key=each.key,
            name=each.key.replace("_", " ").capitalize(),
            max_c=0 if kind == MachineKind.DRYER else each.heat,
            tumble=TUMBLES[each.heat] if kind == MachineKind.DRYER else TUMBLES[2],
            action=ACTIONS[each.action],
            spin=SPINS[each.spin],
            minutes=each.minutes,
            litres_per_kg=Decimal(str(round(each.litres_per_kg, 1))),
        )
        for each in usual
    )


def save_programme(programme: Programme) -> Programme:
    """Change a programme, or add one; its key is made from its name."""
    if not programme.pk:
        programme.key = _free_key(programme)
    with atomic_write():
        programme.save()
    return programme


def _free_key(programme: Programme) -> str:
    stem = "_".join("".join(c if c.isalnum() else " " for c in programme.name.lower()).split())
    stem = stem.encode("ascii", "ignore").decode()[:32] or "programme"
    taken = set(Programme.objects.filter(kind=programme.kind).values_list("key", flat=True))
    numbers = (f"{stem}_{number}" for number in range(2, len(taken) + 3))
    return stem if stem not in taken else next(key for key in numbers if key not in taken)


# How the planner reads it


def programme_facts(row: Programme) -> ProgrammeFacts:
    kind = MachineKind(row.kind)
    return ProgrammeFacts(
        key=row.key,
        process=_PROCESS[kind],
        minutes=row.minutes,
        litres_per_kg=float(row.litres_per_kg),
        heat=TUMBLES.index(row.tumble) if kind == MachineKind.DRYER else row.max_c,
        action=ACTIONS.index(row.action),
        spin=SPINS.index(row.spin),
        solvent=_SOLVENT.get(kind, ""),
    )


class Machinery:
    """Machines and programmes in use, read once: three queries, and one for the open loads."""

    def __init__(self, station: Station, now: datetime) -> None:
        every = list(Machine.objects.exclude(kind__in=DRYING_PLACES).prefetch_related("programmes"))
        self.machines = [m for m in every if station_of(m.kind) == station]
        self.spin_g = washer_spin_g(every)
        self._programmes: dict[str, dict[str, Programme]] = defaultdict(dict)
        for row in Programme.objects.filter(in_use=True):
            self._programmes[row.kind][row.key] = row
        self.loads = list(
            Load.objects.filter(station=station, state__in=OPEN_LOADS)
            .select_related("machine", "programme")
            .order_by("pk")
        )
        self._now = now

    def programme(self, machine: Machine, key: str) -> Programme:
        return self._programmes[machine.kind][key]

    def load_in(self, machine: Machine) -> Load | None:
        """The load that keeps the machine busy: running, or not emptied."""
        held = (each for each in self.loads if each.machine_id == machine.pk)
        return next((each for each in held if each.state in IN_MACHINE), None)

    def facts_of(self, machine: Machine) -> MachineFacts | None:
        """The machine as the planner sees it; None where it has no programme in use."""
        only = {programme.key for programme in machine.programmes.all()}
        programmes = tuple(
            programme_facts(row)
            for row in self._programmes[machine.kind].values()
            if not only or row.key in only
        )
        if not programmes:
            return None
        return MachineFacts(
            key=machine.name,
            kind=machine.kind,
            litres=float(machine.litres),
            programmes=programmes,
            free_from=self._free_from(machine),
            turnaround=machine.turnaround,
            most_pieces=machine.most_pieces,
            spin_g=float(machine.spin_g),
        )

    def _free_from(self, machine: Machine) -> int:
        """Minutes until the machine is free of what runs in it and of what is closed for it."""
        minutes = 0
        for load in self.loads:
            if load.machine_id != machine.pk or load.state == LoadState.FILLING:
                continue
            left = load.minutes
            if load.state in IN_MACHINE:
                assert load.ends_at is not None  # set at the start
                left = max(0, math.ceil((load.ends_at - self._now).total_seconds() / 60))
            minutes += left + machine.turnaround
        return minutes

    @property
    def in_use(self) -> list[MachineFacts]:
        found = [self.facts_of(machine) for machine in self.machines if machine.in_use]
        return [each for each in found if each is not None]
