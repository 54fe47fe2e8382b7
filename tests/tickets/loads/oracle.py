"""The exact solver beside the planner: OR-tools CP-SAT on the same facts and the same score.

The whole day is one model: which pieces share a run, on which machine, when. First each group of
pieces that can share a drum is packed by itself, without the clock; the fewest runs it proves
there are a bound for the day. Machines and pieces that have nothing to do with each other (the
hand sink and the washers) are solved one after the other, which loses nothing.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from tests.tickets.loads.tables import Tables, components, fewest_runs, lower_bound, tables_of
from tickets.loads.items import LoadItem
from tickets.loads.runs import LATE_MINUTE, RUN, Plan, lay_out, score
from tickets.shop.machine_facts import MachineFacts

CLOSE = 0.001
"""A day counts as solved when bound and best plan are this close: less than a fiftieth of a run
on most days, so only the last steps of fit stay open."""


@dataclass(frozen=True)
class Answer:
    """``bound`` is a score that no plan can beat; ``plan`` is None where none was found.

    ``seconds`` are of processor time, which other work on the computer does not stretch.
    """

    bound: int
    plan: Plan | None
    seconds: float


@dataclass
class _Slot:
    """One possible run of one group of kinds."""

    used: Any
    content: dict[int, Any]
    present: dict[int, Any]
    on: dict[int, Any]
    programme: dict[tuple[int, int], Any]


def solve(
    pieces: Sequence[LoadItem],
    machines: Sequence[MachineFacts],
    known: int,
    seconds: float,
    most_runs: int | None = None,
) -> Answer:
    """The best plan and bound within ``seconds``; ``known`` is the score of some legal plan.

    ``most_runs`` caps the runs of a day, which makes the model smaller; the bound then holds for
    plans with no more runs than that.
    """
    began, worked = time.perf_counter(), time.process_time()
    parts = _parts(pieces, machines)
    tables = [tables_of(some, theirs) for some, theirs in parts]
    floors = [lower_bound(table) for table in tables]
    bounds, plans = list(floors), []
    spare = known - sum(floors)
    extra = None
    if most_runs is not None:
        extra = most_runs - sum(fewest_runs(t, kinds) for t in tables for kinds in components(t))
    for number, table in enumerate(tables):
        left = began + seconds - time.perf_counter()
        loads, bounds[number] = _solve_part(
            table, floors[number] + spare, max(1.0, left / (len(parts) - number)), extra
        )
        spare = known - sum(bounds)
        plans.append(loads)
    plan = None
    if all(loads is not None for loads in plans):
        plan = lay_out([load for loads in plans for load in loads or ()])
    return Answer(sum(bounds), plan, time.process_time() - worked)


def _parts(
    pieces: Sequence[LoadItem], machines: Sequence[MachineFacts]
) -> list[tuple[list[LoadItem], list[MachineFacts]]]:
    """Pieces and the machines that can take them, parted where no machine serves both sides."""
    tables = tables_of(pieces, machines)
    group = list(range(len(tables.machines)))
    serves = []
    for kind in range(len(tables.kinds)):
        own = [m for m, k in enumerate(tables.model_of) if tables.models[k].first[kind] >= 0]
        serves.append(own)
        old = {group[m] for m in own}
        group = [min(old) if g in old else g for g in group]
    parts: dict[int, tuple[list[LoadItem], list[MachineFacts]]] = {}
    for kind, own in enumerate(serves):
        parts.setdefault(group[own[0]], ([], []))[0].extend(tables.codes[kind])
    for m, machine in enumerate(tables.machines):
        if group[m] in parts:
            parts[group[m]][1].append(machine)
    return [parts[key] for key in sorted(parts)]


def _solve_part(
    tables: Tables, known: int, seconds: float, extra: int | None
) -> tuple[list[tuple[MachineFacts, list[LoadItem]]] | None, int]:
    began = time.perf_counter()
    groups = components(tables)
    least = [fewest_runs(tables, kinds) for kinds in groups]
    floor = lower_bound(tables)
    base = floor - RUN * sum(least)
    for number, kinds in enumerate(groups):
        spare = (known - base) // RUN - sum(least)
        if extra is not None:
            spare = min(spare, extra)
        if spare > 0 and len(kinds) > 1:
            share = 0.5 * seconds * sum(tables.count[k] for k in kinds) / sum(tables.count)
            least[number] = max(
                least[number], _pack(tables, kinds, least[number] + spare, max(0.5, share))
            )
    floor = base + RUN * sum(least)
    left = max(1.0, seconds - (time.perf_counter() - began))
    spare = max(0, (known - floor) // RUN)
    if extra is not None:
        spare = min(spare, extra)
    return _schedule(tables, groups, least, known, floor, spare, left)


def _slots(
    model: cp_model.CpModel, tables: Tables, kinds: Sequence[int], number: int
) -> list[_Slot]:
    """Possible runs of one group, with every rule of a legal load but the clock."""
    sorts = sorted({tables.sort[k] for k in kinds})
    slots = []
    for _ in range(number):
        used = model.new_bool_var("")
        content = {k: model.new_int_var(0, tables.count[k], "") for k in kinds}
        present = {s: model.new_bool_var("") for s in sorts}
        on = {m: model.new_bool_var("") for m in range(len(tables.machines))}
        programme = {
            (k, p): model.new_bool_var("")
            for k in sorted(set(tables.model_of))
            for p in range(len(tables.models[k].minutes))
        }
        slot = _Slot(used, content, present, on, programme)
        slots.append(slot)
        model.add(sum(on.values()) == used)
        for k, shop_model in enumerate(tables.models):
            of_model = [on[m] for m, made in enumerate(tables.model_of) if made == k]
            chosen = [programme[k, p] for p in range(len(shop_model.minutes))]
            model.add(sum(chosen) == sum(of_model))
            for p, choice in enumerate(chosen):
                _programme_rules(model, tables, slot, k, p, choice)
        for s in sorts:
            inside = [content[k] for k in kinds if tables.sort[k] == s]
            model.add(sum(inside) >= present[s])
            for k in kinds:
                if tables.sort[k] == s:
                    model.add(content[k] <= tables.count[k] * present[s])
            if not tables.company[s] >> s & 1:
                model.add(sum(inside) <= 1)
            model.add_implication(present[s], used)
            for other in sorts:
                if other > s and not tables.company[s] >> other & 1:
                    model.add(present[s] + present[other] <= 1)
        model.add(sum(present.values()) >= used)
        # Implied: whatever the programme, the least room that each piece can take.
        model.add(
            sum(_least_room(tables, k) * content[k] for k in kinds)
            <= sum(tables.models[tables.model_of[m]].room * var for m, var in on.items())
        )
    for kind in kinds:
        model.add(sum(slot.content[kind] for slot in slots) == tables.count[kind])
    for before, after in pairwise(slots):
        model.add_implication(after.used, before.used)
    return slots


def _programme_rules(
    model: cp_model.CpModel, tables: Tables, slot: _Slot, k: int, p: int, choice: Any
) -> None:
    """The chosen programme is the strongest that all allow, and the drum holds the load."""
    made = tables.models[k]
    forbid = [s for s in slot.present if not made.allowed[s] >> p & 1]
    for s in forbid:
        model.add_bool_or(choice.negated(), slot.present[s].negated())
    for stronger in range(p):
        against = [slot.present[s] for s in slot.present if not made.allowed[s] >> stronger & 1]
        model.add_bool_or([choice.negated(), *against])
    taken = made.taken[p]
    model.add(sum(taken[k] * var for k, var in slot.content.items()) <= made.room).only_enforce_if(
        choice
    )
    filled = [(tables.bulk[k], var) for k, var in slot.content.items() if tables.bulk[k]]
    if filled and made.filled_room < 1 << 50:
        model.add(sum(n * var for n, var in filled) <= made.filled_room).only_enforce_if(choice)
    if made.most < 1 << 20:
        model.add(sum(slot.content.values()) <= made.most).only_enforce_if(choice)


def _least_room(tables: Tables, kind: int) -> int:
    rooms = [
        made.taken[p][kind]
        for made in tables.models
        for p in range(len(made.minutes))
        if made.allowed[tables.sort[kind]] >> p & 1
    ]
    return min(rooms)


def _solver(seconds: float) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.linearization_level = 2
    solver.parameters.max_time_in_seconds = seconds
    return solver


def _pack(tables: Tables, kinds: Sequence[int], most: int, seconds: float) -> int:
    """The fewest runs of one group that the solver can prove, the clock left out."""
    model = cp_model.CpModel()
    slots = _slots(model, tables, kinds, most)
    total = sum(slot.used for slot in slots)
    model.add(total >= fewest_runs(tables, kinds))
    model.minimize(total)
    solver = _solver(seconds)
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        raise AssertionError("a group that a known plan packs can't be packed")
    return round(solver.best_objective_bound - 1e-6 + 0.499)


def _schedule(
    tables: Tables,
    groups: list[list[int]],
    least: list[int],
    known: int,
    floor: int,
    spare: int,
    seconds: float,
) -> tuple[list[tuple[MachineFacts, list[LoadItem]]] | None, int]:
    """The whole model with the clock; ``floor`` is a bound already proved."""
    model = cp_model.CpModel()
    late_most = max(0, (known - floor) // LATE_MINUTE) + sum(
        count * max(0, _soonest(tables, kind) - tables.due[kind])
        for kind, count in enumerate(tables.count)
    )
    longest = max(max(made.minutes) + made.turnaround for made in tables.models)
    horizon = max(m.free_from for m in tables.machines) + longest * (sum(least) + spare)
    cost: list[Any] = []
    on_machine: dict[int, list[Any]] = {m: [] for m in range(len(tables.machines))}
    placed: list[tuple[_Slot, Any]] = []
    used = []
    for kinds, fewest in zip(groups, least, strict=True):
        slots = _slots(model, tables, kinds, fewest + spare)
        model.add(sum(slot.used for slot in slots) >= fewest)
        ends = []
        for slot in slots:
            end = model.new_int_var(0, horizon, "")
            ends.append(end)
            placed.append((slot, end))
            used.append(slot.used)
            _clock(model, tables, slot, end, on_machine, horizon)
            cost += _late(model, tables, slot, end, late_most, horizon)
            cost += _fit(model, tables, slot)
        for before, after in pairwise(ends):
            model.add(before <= after)
    for intervals in on_machine.values():
        model.add_no_overlap(intervals)
    model.add(sum(used) <= sum(least) + spare)
    total = RUN * sum(used) + sum(cost)
    model.add(total >= floor)
    model.add(total <= known)
    model.minimize(total)
    solver = _solver(seconds)
    solver.parameters.relative_gap_limit = CLOSE / 2
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        raise AssertionError("the model refuses a plan that is known to be legal")
    bound = max(floor, int(solver.best_objective_bound)) if status != cp_model.UNKNOWN else floor
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, bound
    waiting = [list(codes) for codes in tables.codes]
    loads = []
    for slot, _ in sorted(placed, key=lambda pair: solver.value(pair[1])):
        if not solver.value(slot.used):
            continue
        content = [
            waiting[kind].pop()
            for kind, var in slot.content.items()
            for _ in range(solver.value(var))
        ]
        machine = next(m for m, var in slot.on.items() if solver.value(var))
        loads.append((tables.machines[machine], content))
    return loads, bound


def _soonest(tables: Tables, kind: int) -> int:
    """The first minute at which a piece of this kind can be out of a machine."""
    return min(
        machine.free_from + made.minutes[p]
        for machine, number in zip(tables.machines, tables.model_of, strict=True)
        for made in (tables.models[number],)
        for p in range(len(made.minutes))
        if made.allowed[tables.sort[kind]] >> p & 1
    )


def _clock(
    model: cp_model.CpModel,
    tables: Tables,
    slot: _Slot,
    end: Any,
    on_machine: dict[int, list[Any]],
    horizon: int,
) -> None:
    """The run takes its programme's minutes on its machine, and the turnaround after."""
    minutes = sum(tables.models[k].minutes[p] * choice for (k, p), choice in slot.programme.items())
    for m, var in slot.on.items():
        machine = tables.machines[m]
        start = model.new_int_var(machine.free_from, horizon, "")
        size = model.new_int_var(0, horizon, "")
        stop = model.new_int_var(0, 2 * horizon, "")
        model.add(size == minutes + machine.turnaround).only_enforce_if(var)
        model.add(end == start + minutes).only_enforce_if(var)
        on_machine[m].append(model.new_optional_interval_var(start, size, stop, var, ""))


def _late(
    model: cp_model.CpModel, tables: Tables, slot: _Slot, end: Any, most: int, horizon: int
) -> list[Any]:
    """Cost of lateness: minutes for each due time, times the pieces that have it."""
    cost = []
    by_due: dict[int, Any] = {}
    for kind, var in slot.content.items():
        due = tables.due[kind]
        if due >= horizon:
            continue
        if due not in by_due:
            by_due[due] = model.new_bool_var("")
        inside = by_due[due]
        model.add(var == 0).only_enforce_if(inside.negated())
    for due, inside in by_due.items():
        kinds = [k for k in slot.content if tables.due[k] == due]
        if most == 0:
            model.add(end <= due).only_enforce_if(inside)
            continue
        late = model.new_int_var(0, most, "")
        model.add(late >= end - due).only_enforce_if(inside)
        for kind in kinds:
            var, count = slot.content[kind], tables.count[kind]
            if count == 1:
                minutes = model.new_int_var(0, most, "")
                model.add(minutes >= late).only_enforce_if(_is_in(model, var))
            else:
                minutes = model.new_int_var(0, most * count, "")
                model.add_multiplication_equality(minutes, [late, var])
            cost.append(LATE_MINUTE * minutes)
    return cost


def _is_in(model: cp_model.CpModel, var: Any) -> Any:
    inside = model.new_bool_var("")
    model.add(var == inside)
    return inside


def _fit(model: cp_model.CpModel, tables: Tables, slot: _Slot) -> list[Any]:
    """Cost of washing pieces below what they allow, by the programme chosen."""
    most = sum(
        tables.count[k]
        * max(max(made.below[p][k] for p in range(len(made.minutes))) for made in tables.models)
        for k in slot.content
    )
    steps = model.new_int_var(0, max(0, most), "")
    for (k, p), choice in slot.programme.items():
        below = tables.models[k].below[p]
        allowed = {
            kind: var
            for kind, var in slot.content.items()
            if tables.models[k].allowed[tables.sort[kind]] >> p & 1
        }
        model.add(steps >= sum(below[kind] * var for kind, var in allowed.items())).only_enforce_if(
            choice
        )
    return [steps]


def closeness(answer: Answer, planned: int) -> float:
    """How far the better of both plans is above the bound, as a share of it."""
    best = min(planned, score(answer.plan)) if answer.plan else planned
    return best / answer.bound - 1
