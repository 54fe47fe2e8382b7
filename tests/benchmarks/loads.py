"""The load planner on whole days, against the best plans known for them.

    python -m tests.benchmarks.loads [--quick] [--days N] [--alone S]

- Quality, every day counted: each plan against the best one known (an exact solver at a minute a
  day and the planner with twenty times its rounds, kept in ``best_known.json``; see
  ``load_days``) and against the bound. A gap is (planner - best) / best, by the score of
  ``tickets.loads.runs`` as a plain reading of it gives it. ``worst_gap`` leaves out no day;
  ``a_run_too_many`` counts the days on which the planner takes one run more than the best plan,
  ``more_runs_too_many`` those with two or more. First fit decreasing stands beside it.
- Faults: runs that break a rule, and pairs of pieces that the planner's tables keep apart though
  the plain reading of the rules lets them share.
- Re-planned days: pieces arrive in four waves, and what has started stays; each wave is planned
  from what stood before. Against the same day re-planned with twenty times the rounds.
- Speed (printed, not judged), for 30, 60, 120 and 400 pieces: how long OR-tools CP-SAT, one worker,
  told no more than how many runs first fit takes, needs to reach the planner's score, and how long
  the planner needs to reach the solver's; each time is doubled until it is enough or ``--alone``
  seconds are over. Processor seconds.

The last line is one JSON object; gaps are shares (0.01 is one percent). Exit status 2 without the
solver, 1 when a plan breaks a rule or the tables forbid in vain.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
import time
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tests.benchmarks.load_days import Best, Day

QUICK_DAYS = 12
ALONE, QUICK_ALONE = 12.0, 4.0
SPEED_SIZES, QUICK_SPEED_SIZES = (30, 60, 120, 400), (30, 60)
WAVES, WAVE_MINUTES = 4, 90
"""A re-planned day's pieces arrive so many minutes apart."""
REPLANNED, QUICK_REPLANNED = (60, 120, 200), (60,)


@dataclass(frozen=True)
class Figures:
    """One day: scores of planner, best plan, bound and first fit; runs; faults; seconds."""

    size: int
    tight: bool
    planner: int
    best: int
    bound: int
    first_fit: int
    runs_too_many: int
    late: int
    illegal: int
    kept_apart_in_vain: int
    seconds: float

    @property
    def gap(self) -> float:
        return self.planner / self.best - 1


def measure(day: Day, best: Best) -> Figures:
    """Plan one day and judge the plan beside the best one known and first fit."""
    from tests.tickets.loads.first_fit import first_fit_decreasing
    from tests.tickets.loads.naive import illegal_loads, naive_score
    from tickets.loads.planner import plan_loads
    from tickets.loads.runs import score

    began = time.process_time()
    plan = plan_loads(day.pieces, day.machines)
    seconds = time.process_time() - began
    if naive_score(plan) != score(plan):
        raise AssertionError(f"day {day.key}: two ways of scoring one plan differ")
    rule = first_fit_decreasing(list(day.pieces), list(day.machines))
    # A planner that beats the best plan known sets a new one.
    known = min(best.score, score(plan))
    return Figures(
        day.size,
        day.tight,
        score(plan),
        known,
        best.bound,
        score(rule),
        len(plan.runs) - len(best.plan.runs),
        plan.late_minutes,
        illegal_loads(plan, day.pieces),
        kept_apart_in_vain(day),
        seconds,
    )


def kept_apart_in_vain(day: Day) -> int:
    """Pairs of sorts that the planner never puts together, and the plain reading does."""

    from tests.tickets.loads.naive import rules_broken
    from tickets.loads.items import allows
    from tickets.loads.runs import Run
    from tickets.loads.together import shares

    samples = {piece.sort: piece for piece in day.pieces}.values()
    in_vain = 0
    for pair in combinations(samples, 2):
        choices = [(m, p) for m in day.machines for p in m.programmes]
        together = shares(*pair) and any(
            all(allows(piece, p, m.kind) for piece in pair) for m, p in choices
        )
        if not together:
            plain = (Run(m, p, pair, 0, p.minutes) for m, p in choices)
            # Room apart: whether both fit is a matter of weight, not of company.
            in_vain += any(not set(rules_broken(run)) - ROOM for run in plain)
    return in_vain


ROOM = {"overfull", "too many filled", "too many pieces"}


def replanned(day: Day, rounds: int | None) -> int:
    """The score of a day whose pieces arrive in waves: late minutes and runs of all that ran."""

    from tickets.loads.planner import plan_loads
    from tickets.loads.runs import LATE_MINUTE, RUN

    ticket_order = sorted(day.pieces, key=lambda piece: piece.code)
    waiting: list[Any] = []
    free = {machine.key: machine.free_from for machine in day.machines}
    total = 0
    for wave in range(WAVES):
        now = wave * WAVE_MINUTES
        waiting += ticket_order[wave::WAVES]
        machines = [
            replace(machine, free_from=max(0, free[machine.key] - now)) for machine in day.machines
        ]
        shifted = [replace(piece, due=piece.due - now) for piece in waiting]
        plan = plan_loads(shifted, machines, rounds)
        last = wave == WAVES - 1
        for run in plan.runs:
            if last or run.start < WAVE_MINUTES:
                started = {piece.code for piece in run.pieces}
                waiting = [piece for piece in waiting if piece.code not in started]
                free[run.machine.key] = now + run.finish + run.machine.turnaround
                late = sum(max(0, run.finish - piece.due) for piece in run.pieces)
                total += RUN + LATE_MINUTE * late
    return total


def race(day: Day, limit: float) -> dict[str, float | None]:
    """Seconds that each needs to reach the other's score; None where ``limit`` was not enough."""
    from tests.tickets.loads.first_fit import first_fit_decreasing
    from tests.tickets.loads.oracle import solve
    from tickets.loads.planner import plan_loads
    from tickets.loads.runs import score

    began = time.process_time()
    own = score(plan_loads(day.pieces, day.machines))
    planner_seconds = time.process_time() - began
    rule = first_fit_decreasing(list(day.pieces), list(day.machines))
    solver_seconds, allowed, reached = None, 1.0, score(rule)
    while allowed <= limit and solver_seconds is None:
        answer = solve(day.pieces, day.machines, score(rule), allowed, len(rule.runs))
        reached = min(reached, score(answer.plan)) if answer.plan else reached
        solver_seconds = answer.seconds if reached <= own else None
        allowed *= 2
    back, rounds = None, 50
    while back is None:
        began = time.process_time()
        plan = plan_loads(day.pieces, day.machines, rounds)
        spent = time.process_time() - began
        if score(plan) <= reached:
            back = spent
        elif spent > limit:
            break
        rounds *= 2
    return {
        "planner": planner_seconds,
        "solver_to_planner": solver_seconds,
        "planner_to_solver": back,
    }


def summary(days: list[Figures]) -> dict[str, float | int]:
    """The figures of the last line that come from the days."""
    gaps = [day.gap for day in days]
    tight = [day.gap for day in days if day.tight]
    return {
        "days": len(days),
        "median_gap": round(statistics.median(gaps), 5),
        "mean_gap": round(statistics.fmean(gaps), 5),
        "worst_gap": round(max(gaps), 5),
        "mean_gap_of_tight_days": round(statistics.fmean(tight), 5) if tight else 0.0,
        "mean_gap_to_bound": round(statistics.fmean(d.planner / d.bound - 1 for d in days), 5),
        "worst_gap_to_bound": round(max(d.planner / d.bound - 1 for d in days), 5),
        "a_run_too_many": sum(day.runs_too_many == 1 for day in days),
        "more_runs_too_many": sum(day.runs_too_many > 1 for day in days),
        "illegal_loads": sum(day.illegal for day in days),
        "kept_apart_in_vain": sum(day.kept_apart_in_vain for day in days),
        "first_fit_mean_gap": round(statistics.fmean(d.first_fit / d.best - 1 for d in days), 5),
        "late_days": sum(day.late > 0 for day in days),
        "planner_mean_seconds": round(statistics.fmean(d.seconds for d in days), 4),
        "planner_worst_seconds": round(max(d.seconds for d in days), 4),
    }


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.loads")
    parser.add_argument("--quick", action="store_true", help="a few days, under 45 seconds")
    parser.add_argument("--days", type=int, help="number of days, all by default")
    parser.add_argument("--alone", type=float, help=f"the solver's limit in a race ({ALONE:g})")
    options = parser.parse_args(arguments)
    try:
        import ortools  # noqa: F401
    except ImportError:
        print(
            "The exact solver is missing: install the locked group, "
            "`python -m pip install -r .requirements/oracle.txt`.",
            file=sys.stderr,
        )
        return 2
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from tests.benchmarks.load_days import all_days, best_at_leisure, make_day, read_best, rounds_of
    from tests.benchmarks.load_days import seed_of_version as seed

    days = all_days()[: options.days or (QUICK_DAYS if options.quick else None)]
    known = read_best(days)
    print(f"{len(known)} of {len(days)} days have a plan kept; the others are searched now.")
    print("pieces tight runs+ late    planner       best      bound  first fit    gap plan s")
    figures = []
    for day in days:
        row = measure(day, known.get(day.key) or best_at_leisure(day))
        figures.append(row)
        print(
            f"{row.size:6} {'tight' if row.tight else '':5} {row.runs_too_many:5} "
            f"{row.late:4} {row.planner:10} {row.best:10} {row.bound:10} "
            f"{row.first_fit:10} {row.gap:6.2%} {row.seconds:6.3f}",
            flush=True,
        )
    result: dict[str, Any] = summary(figures)
    result["days_with_a_plan_kept"] = len(known)
    waves = []
    for size in QUICK_REPLANNED if options.quick else REPLANNED:
        for tight in (False, True):
            day = make_day(seed() + size, size, tight)
            waves.append(replanned(day, None) / replanned(day, rounds_of(size)) - 1)
    result["replanned_days"] = len(waves)
    result["replanned_mean_gap"] = round(statistics.fmean(waves), 5)
    limit = options.alone or (QUICK_ALONE if options.quick else ALONE)
    result["speed"] = {}
    for size in QUICK_SPEED_SIZES if options.quick else SPEED_SIZES:
        times = race(make_day(seed() - size, size, False), limit)
        result["speed"][str(size)] = {
            name: seconds if seconds is None else round(seconds, 3)
            for name, seconds in times.items()
        }
    result["speed_ratio"] = speed_ratio(result["speed"].values(), limit)
    print(json.dumps(result))
    return 1 if result["illegal_loads"] or result["kept_apart_in_vain"] else 0


def speed_ratio(races: Any, limit: float) -> float:
    """Median over the sizes of the solver's time to the planner's score by the planner's own; a
    solver that did not get there counts with its limit, so that the ratio is a floor."""
    return round(
        statistics.median((r["solver_to_planner"] or limit) / r["planner"] for r in races), 1
    )


if __name__ == "__main__":
    sys.exit(main())
