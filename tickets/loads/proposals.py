"""Which loads to make now at a station, beside what runs there and what waits.

Nothing here writes. Rows become the planner's facts with the number as people say it for a code,
so that the planner's sentences can be shown as they are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import bags as bagfloor
from tickets.loads import estimates, queries
from tickets.loads.bags import BagProposal, PartnerNow
from tickets.loads.items import LoadItem
from tickets.loads.planned_pieces import Apart, Together, due_minute, load_piece
from tickets.loads.planner import plan_loads
from tickets.loads.runs import Plan, Run, lay_out, score
from tickets.loads.together import programme_for, steps_together, why_not_fit, why_not_run
from tickets.loads.wording.company import no_machine_words
from tickets.loads.wording.reasons import RunFacts, run_reasons
from tickets.models import Load, Machine, Piece, Programme
from tickets.models.machines import LoadState
from tickets.shop import figures
from tickets.shop.drying_places import Places
from tickets.shop.machine_facts import MachineFacts
from tickets.shop.machines import Machinery
from tickets.shop.queries import places_now, read_calendar, read_machinery


@dataclass(frozen=True)
class Proposal(Together):
    """A run that the planner would make. ``now`` is false where the machine is busy."""

    machine: Machine
    programme: Programme
    now: bool
    starts_in: int
    estimate: estimates.RunSums


@dataclass(frozen=True)
class MachineNow:
    """``busy``: the load in it, for ``left`` minutes more. ``closed``: the load that only has to
    be started."""

    machine: Machine
    busy: Load | None
    left: int
    closed: Load | None = None

    @property
    def to_do(self) -> Load | None:
        """The load that waits for hands: to be started where the machine is free, to be finished
        when its time is over, or to be emptied."""
        if self.busy is None:
            return self.closed
        return self.busy if self.busy.state == LoadState.FINISHED or not self.left else None


@dataclass(frozen=True)
class Floor:
    """All that the page of a station's loads shows.

    Wash and dry have machines with proposals, send-out has partners with bags. ``places`` are the
    rails and flat places of the dry station.
    """

    machines: list[MachineNow]
    proposals: list[Proposal]
    apart: list[Apart]
    loads: list[Load]
    waiting: int
    partners: list[PartnerNow] = field(default_factory=list)
    bags: list[BagProposal] = field(default_factory=list)
    places: list[Places] = field(default_factory=list)


def floor(station: Station, now: datetime) -> Floor:
    """Plan the loads of a station for now. The number of queries does not hang on the pieces."""
    if station == Station.SEND_OUT:
        bags = bagfloor.bag_floor(now)
        return Floor([], [], bags.apart, bags.loads, bags.waiting, bags.partners, bags.bags)
    machinery, calendar = read_machinery(station, now), read_calendar()
    rows: dict[str, Piece] = {}
    ready: list[LoadItem] = []
    apart: list[Apart] = []
    waiting = queries.waiting_here(station)
    for piece in waiting:
        try:
            ready.append(load_piece(piece, station, due_minute(piece, now, calendar)))
            rows[piece.spoken] = piece
        except Refused as no:
            apart.append(Apart(piece, str(no)))
    machines = machinery.in_use
    if machines:
        plan = _spread(plan_loads(ready, machines), machines)
        runs, left_over = plan.runs, list(plan.left_over)
    else:
        runs, left_over = (), ready
    apart += [
        Apart(
            rows[item.code],
            no_machine_words([why_not_run([item], machine) for machine in machines]),
        )
        for item in sorted(left_over, key=lambda item: item.due)
    ]
    return Floor(
        machines=[_machine_now(machinery, m, now) for m in machinery.machines if m.in_use],
        proposals=[_proposal(run, machinery, rows, now) for run in runs],
        apart=apart,
        loads=machinery.loads,
        waiting=len(waiting),
        places=places_now(now) if station == Station.DRY else [],
    )


def _no_machine(item: LoadItem, machines: Sequence[MachineFacts]) -> str:
    return no_machine_words([why_not_run([item], machine) for machine in machines])


def _spread(plan: Plan, machines: Sequence[MachineFacts]) -> Plan:
    """The same loads, each on the machine that can begin it first, where that costs nothing.

    The planner asks for few and timely runs and not for early ones; a crew sees an idle machine.
    """
    clock = {machine.key: machine.free_from for machine in machines}
    loads = []
    for run in plan.runs:
        fits = [m for m in machines if m == run.machine or not why_not_fit(run.pieces, m)]
        same = [m for m in fits if programme_for(run.pieces, m) == run.programme]
        first = min(same, key=lambda m: (clock[m.key], m != run.machine, m.key))
        clock[first.key] += run.programme.minutes + first.turnaround
        loads.append((first, run.pieces))
    spread = lay_out(loads)
    if score(spread) > score(plan):
        return plan
    return Plan(spread.runs, plan.left_over)


def _machine_now(machinery: Machinery, machine: Machine, now: datetime) -> MachineNow:
    load = machinery.load_in(machine)
    left = 0
    if load is not None and load.ends_at is not None:
        left = max(0, math.ceil((load.ends_at - now).total_seconds() / 60))
    closed = (other for other in machinery.loads if other.state == LoadState.CLOSED)
    return MachineNow(
        machine,
        load,
        left,
        next((other for other in closed if other.machine_id == machine.pk), None),
    )


def _proposal(run: Run, machinery: Machinery, rows: dict[str, Piece], now: datetime) -> Proposal:
    machine = next(m for m in machinery.machines if m.name == run.machine.key)
    by_due = sorted(run.pieces, key=lambda piece: (piece.due, piece.code))
    sums = estimates.run_sums(
        run.pieces,
        run.programme,
        run.machine.litres,
        heat_pump=machine.heat_pump,
        gas=machine.gas,
        spin_g=machinery.spin_g,
    )
    return Proposal(
        machine=machine,
        programme=machinery.programme(machine, run.programme.key),
        pieces=[rows[item.code] for item in by_due],
        now=run.start == 0 and machinery.load_in(machine) is None,
        starts_in=run.start,
        fill_percent=round(100 * run.fill),
        estimate=sums,
        grams=sum(piece.grams for piece in run.pieces),
        reasons=run_reasons(_facts(run), rows[by_due[0].code], now),
        steps=steps_together(run.pieces),
    )


def _facts(run: Run) -> RunFacts:
    return RunFacts(
        run.programme,
        run.may_wait,
        run.heavy_single and len(run.pieces) > 1,
        holding_down(run.pieces, run.machine),
    )


def holding_down(pieces: Sequence[LoadItem], machine: MachineFacts) -> list[str]:
    """The pieces that keep a load from a stronger programme, when others would allow one."""
    together = programme_for(pieces, machine)
    alone = {piece.code: programme_for([piece], machine) for piece in pieces}
    limiting = [code for code, programme in alone.items() if programme == together]
    return limiting if 0 < len(limiting) < len(alone) else []


def is_thin(fill_percent: int, machine: Machine) -> bool:
    """Under the least fill of a drum; a sink for one piece is never too empty."""
    return machine.most_pieces != 1 and fill_percent < 100 * figures.number("load.min_fill")
