"""Runs and plans of runs: the values the planner gives, their ``score``, and ``faults``, the check
that a plan breaks no rule and loses no piece. ``lay_out`` sets loads on the machines' clocks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tickets.loads.items import LoadItem, room_taken, steps_below
from tickets.loads.together import programme_for, why_not_run
from tickets.shop import figures
from tickets.shop.machine_facts import MachineFacts, ProgrammeFacts

LATE_MINUTE = 10_000
RUN = 50_000
STEP_BELOW = 1
"""Weights of the score. Due time comes first: five late minutes of one piece outweigh a run (a
ticket a few minutes late is no reason to heat a drum); a run outweighs all fit of some 5,000
pieces."""


@dataclass(frozen=True)
class Run:
    """One run: from ``start`` to ``finish`` in machine minutes, pieces in order of their codes."""

    machine: MachineFacts
    programme: ProgrammeFacts
    pieces: tuple[LoadItem, ...]
    start: int
    finish: int

    @property
    def fill(self) -> float:
        """Share of the drum that is taken."""
        return sum(room_taken(p, self.programme) for p in self.pieces) / self.machine.room

    @property
    def latest_start(self) -> int:
        """The last minute it may start with no piece late (it may lie in the past)."""
        return min(piece.due for piece in self.pieces) - self.programme.minutes

    @property
    def may_wait(self) -> bool:
        """Under half full and nothing in it is pressed for time: better held for more company."""
        thin = self.fill < figures.number("load.min_fill")
        alone = any(piece.alone for piece in self.pieces) or self.machine.most_pieces == 1
        return thin and not alone and self.latest_start > self.finish

    @property
    def heavy_single(self) -> bool:
        """One piece weighs so much of the load that it throws the spin: add like cloth."""
        share = figures.number("load.sling_piece_max")
        taken = max(room_taken(p, self.programme) for p in self.pieces)
        return not self.programme.by_weight and taken > share * self.machine.room


@dataclass(frozen=True)
class Plan:
    """Runs by machine and time. ``left_over`` are pieces that no machine here can take at all."""

    runs: tuple[Run, ...]
    left_over: tuple[LoadItem, ...] = ()

    @property
    def late_minutes(self) -> int:
        """Minutes of lateness, summed over pieces."""
        return sum(max(0, r.finish - p.due) for r in self.runs for p in r.pieces)

    @property
    def steps_below(self) -> int:
        """Steps that pieces are washed below what they allow, summed."""
        return sum(steps_below(p, r.programme) for r in self.runs for p in r.pieces)


def score(plan: Plan) -> int:
    """What the planner and the exact solver both make small: lateness, then runs, then fit."""
    return LATE_MINUTE * plan.late_minutes + RUN * len(plan.runs) + STEP_BELOW * plan.steps_below


def lay_out(loads: Iterable[tuple[MachineFacts, Sequence[LoadItem]]]) -> Plan:
    """A plan from loads in the order in which each machine runs them.

    Raises ValueError for a load that its machine has no programme for.
    """
    clock: dict[str, int] = {}
    runs = []
    for machine, pieces in loads:
        programme = programme_for(pieces, machine)
        if programme is None:
            raise ValueError(f"{machine.key} has no programme that all of the load's pieces allow")
        start = clock.get(machine.key, machine.free_from)
        finish = start + programme.minutes
        clock[machine.key] = finish + machine.turnaround
        ordered = tuple(sorted(pieces, key=lambda p: p.code))
        runs.append(Run(machine, programme, ordered, start, finish))
    return Plan(tuple(sorted(runs, key=lambda r: (r.start, r.machine.key))))


def faults(plan: Plan, pieces: Sequence[LoadItem]) -> list[str]:
    """Every way in which the plan is illegal or loses count; empty for a sound plan."""
    lines = []
    placed = sorted(p.code for r in plan.runs for p in r.pieces)
    expected = sorted(p.code for p in pieces)
    if sorted([*placed, *(p.code for p in plan.left_over)]) != expected:
        lines.append("the plan's pieces are not those given, each once")
    busy: dict[str, int] = {}
    for run in plan.runs:
        if why := why_not_run(run.pieces, run.machine):
            lines.append(why)
        if run.programme != programme_for(run.pieces, run.machine):
            lines.append(f"{run.machine.key} at {run.start}: not the programme of its pieces")
        free = busy.get(run.machine.key, run.machine.free_from)
        if run.start < free or run.finish != run.start + run.programme.minutes:
            lines.append(f"{run.machine.key} at {run.start}: busy until {free}")
        busy[run.machine.key] = run.finish + run.machine.turnaround
    return lines
