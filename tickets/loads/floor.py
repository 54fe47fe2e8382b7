"""The floor as it stands: what waits for a machine, what runs, and which loads to make now.

Nothing here writes. Rows become the planner's facts with the number as people say it for a code,
so that the planner's sentences can be shown as they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import bags as bagfloor
from tickets.loads import estimates
from tickets.loads.bags import BagProposal, PartnerNow
from tickets.loads.items import LoadItem
from tickets.loads.planner import plan_loads
from tickets.loads.runs import Plan, Run, lay_out, score
from tickets.loads.together import programme_for, why_not_fit, why_not_run
from tickets.loads.waiting import (
    Apart,
    Together,
    due_first,
    due_minute,
    load_piece,
    steps_together,
    waiting_here,
)
from tickets.models import Load, Machine, Piece, Programme
from tickets.models.machines import LoadState
from tickets.shop import figures
from tickets.shop.drying_places import Places
from tickets.shop.machine_facts import MachineFacts
from tickets.shop.machines import Machinery
from tickets.shop.queries import places_now, read_calendar, read_machinery

_MOST_NAMED = 3


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
    waiting = waiting_here(station)
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
        Apart(rows[each.code], _no_machine(each, machines))
        for each in sorted(left_over, key=lambda each: each.due)
    ]
    return Floor(
        machines=[_machine_now(machinery, m, now) for m in machinery.machines if m.in_use],
        proposals=[_proposal(run, machinery, rows, now) for run in runs],
        apart=apart,
        loads=machinery.loads,
        waiting=len(waiting),
        places=places_now(now) if station == Station.DRY else [],
    )


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


def _no_machine(piece: LoadItem, machines: Iterable[MachineFacts]) -> str:
    says = [why_not_run([piece], machine) for machine in machines]
    return says[0] if len(set(says)) == 1 else _("No machine here has a programme that it allows.")


def _machine_now(machinery: Machinery, machine: Machine, now: datetime) -> MachineNow:
    load = machinery.load_in(machine)
    left = 0
    if load is not None and load.ends_at is not None:
        left = max(0, math.ceil((load.ends_at - now).total_seconds() / 60))
    closed = (each for each in machinery.loads if each.state == LoadState.CLOSED)
    return MachineNow(
        machine, load, left, next((each for each in closed if each.machine_id == machine.pk), None)
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
        pieces=[rows[each.code] for each in by_due],
        now=run.start == 0 and machinery.load_in(machine) is None,
        starts_in=run.start,
        fill_percent=round(100 * run.fill),
        estimate=sums,
        grams=sum(piece.grams for piece in run.pieces),
        reasons=_reasons(run, rows[by_due[0].code], now),
        steps=steps_together(run.pieces),
    )


def _reasons(run: Run, first: Piece, now: datetime) -> list[str]:
    said = [due_first(first, now)]
    if run.may_wait:
        said.append(_("Under half full and nothing in it presses: it may wait for more."))
    if run.heavy_single and len(run.pieces) > 1:
        said.append(_("One piece weighs much of the load and throws the spin: add like cloth."))
    if because := holding_down(run.pieces, run.machine):
        named = ", ".join(because[:_MOST_NAMED])
        more = len(because) - _MOST_NAMED
        if more > 0:
            named += ngettext(" and %(n)d more", " and %(n)d more", more) % {"n": more}
        said.append(
            _("%(programme)s because of %(pieces)s.")
            % {"programme": capital(run.programme.words), "pieces": named}
        )
    return said


def holding_down(pieces: Sequence[LoadItem], machine: MachineFacts) -> list[str]:
    """The pieces that keep a load from a stronger programme, when others would allow one."""
    together = programme_for(pieces, machine)
    alone = {piece.code: programme_for([piece], machine) for piece in pieces}
    limiting = [code for code, programme in alone.items() if programme == together]
    return limiting if 0 < len(limiting) < len(alone) else []


def capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def is_thin(fill_percent: int, machine: Machine) -> bool:
    """Under the least fill of a drum; a sink for one piece is never too empty."""
    return machine.most_pieces != 1 and fill_percent < 100 * figures.number("load.min_fill")
