"""The shop's machines and programmes as the planner reads them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal

from care_rules.limits import ACTIONS, SPINS, TUMBLES
from tickets.choices import Station
from tickets.models import Load, Machine, MachineKind, Programme
from tickets.models.machines import (
    DRYING_PLACES,
    IN_MACHINE,
    ONE_PERSON,
    LoadState,
)
from tickets.shop import figures
from tickets.shop.machine_facts import (
    TUMBLE,
    WASHER_RATIO,
    MachineFacts,
    ProgrammeFacts,
)

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
    """The machines of a station with their programmes in use and their open loads, at a moment."""

    def __init__(
        self,
        station: Station,
        now: datetime,
        *,
        machines: Sequence[Machine],
        programmes: Iterable[Programme],
        loads: Iterable[Load],
    ) -> None:
        """``machines`` are those of the whole shop, read with their ``programmes``."""
        self.machines = [m for m in machines if station_of(m.kind) == station]
        self.spin_g = washer_spin_g(machines)
        self._programmes: dict[str, dict[str, Programme]] = defaultdict(dict)
        for row in programmes:
            self._programmes[row.kind][row.key] = row
        self.loads = list(loads)
        self._now = now

    def programme(self, machine: Machine, key: str) -> Programme:
        return self._programmes[machine.kind][key]

    def load_in(self, machine: Machine) -> Load | None:
        """The load that keeps the machine busy: running, or not emptied."""
        held = (load for load in self.loads if load.machine_id == machine.pk)
        return next((load for load in held if load.state in IN_MACHINE), None)

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
        facts = [self.facts_of(machine) for machine in self.machines if machine.in_use]
        return [machine_facts for machine_facts in facts if machine_facts is not None]
