"""The exact solver on small cases (OR-tools CP-SAT, the group ``oracle``): the least end of all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from tickets.promise.tasks import Task


@dataclass(frozen=True)
class Optimum:
    """Whole minutes until the last piece is through. ``bound``: no schedule ends before it; equal
    to ``end`` where the solver proved that."""

    end: int
    bound: int


def least_end(
    routes: Sequence[Sequence[Task]], people: Mapping[str, int], seconds: float = 60.0
) -> Optimum:
    """The best schedule of these pieces with so many people at each station (default 1).

    Every person works on one piece at a time, in whole minutes and always open.
    """
    model = cp_model.CpModel()
    horizon = sum(int(task.crew + task.waits) for route in routes for task in route)
    last = model.new_int_var(0, horizon, "last")
    at_station: dict[str, list[cp_model.IntervalVar]] = defaultdict(list)
    for route in routes:
        ready: cp_model.LinearExprT = 0
        for task in route:
            start = model.new_int_var(0, horizon, "")
            model.add(start >= ready)
            crew = int(task.crew)
            at_station[task.station].append(model.new_fixed_size_interval_var(start, crew, ""))
            ready = start + crew + int(task.waits)
        model.add(last >= ready)
    for station, intervals in at_station.items():
        model.add_cumulative(intervals, [1] * len(intervals), people.get(station, 1))
    model.minimize(last)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), solver.status_name(status)
    return Optimum(round(solver.objective_value), round(solver.best_objective_bound))
