"""The load planner against an exact solver and against first fit decreasing.

    python -m tests.benchmarks.loads [--quick] [--days N] [--seconds S] [--alone S]

Seeded shop days of 30 to 400 pieces go to the planner and to OR-tools CP-SAT on one worker, both
judged by ``tickets.loads.runs.score``.

- Quality: the solver is told the planner's score as a cut-off, which only helps it, and gets
  ``--seconds`` a day. A day counts as solved when the solver's bound comes within 0.1 % of the
  better of both plans; the other days stand in columns of their own, against the bound. A gap is
  (planner - best) / best; the best of a solved day is the better of both plans.
- Speed: every eighth day the solver also works alone, told no more than how many runs first fit
  decreasing takes, for at most ``--alone`` seconds. Its time is cut there, so that the ratio is a
  floor. ``speed_ratio_solved`` counts only the days that it finished alone. Both sides are
  measured in processor seconds; the limits are by the clock.

The last line is one JSON object. Exit status 2 when the solver is not installed, 1 when a plan
breaks a rule.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import statistics
import sys
import time
from dataclasses import dataclass

SEED = 20_251
DAYS, QUICK_DAYS = 200, 12
SECONDS, QUICK_SECONDS = 8.0, 1.0
ALONE, QUICK_ALONE = 30.0, 4.0
EVERY = 8
SMALLEST, LARGEST = 30, 400


@dataclass(frozen=True)
class Day:
    """One day's figures. ``bound`` is the solver's; ``solver`` the score of its plan, if any."""

    pieces: int
    planner: int
    solver: int | None
    bound: int
    first_fit: int
    planner_seconds: float
    solver_seconds: float
    solved: bool
    illegal: int
    late: int
    runs: int
    alone_seconds: float | None = None
    alone_finished: bool = False

    @property
    def best(self) -> int:
        """The best score known of a solved day, and the bound of another."""
        if not self.solved:
            return self.bound
        return min(self.planner, self.solver or self.planner)

    @property
    def gap(self) -> float:
        return self.planner / self.best - 1


def measure(seed: int, number: int, seconds: float, alone: float | None) -> Day:
    """Plan one seeded day both ways and check every run; ``alone`` also times the solver alone."""
    from tests.tickets.loads.days import shop_day
    from tests.tickets.loads.first_fit import first_fit_decreasing
    from tests.tickets.loads.naive import illegal_loads, naive_score
    from tests.tickets.loads.oracle import CLOSE, closeness, solve
    from tickets.loads.planner import plan_loads
    from tickets.loads.runs import score

    pieces, machines = shop_day(seed, number)
    began = time.process_time()
    plan = plan_loads(pieces, machines)
    planner_seconds = time.process_time() - began
    planned = score(plan)
    answer = solve(pieces, machines, planned, seconds)
    illegal = illegal_loads(plan, pieces)
    if naive_score(plan) != planned:
        raise AssertionError(f"day {seed}: two ways of scoring one plan differ")
    if answer.plan is not None and illegal_loads(answer.plan, pieces):
        raise AssertionError(f"day {seed}: the solver's plan breaks a rule; its model is wrong")
    rule = first_fit_decreasing(pieces, machines)
    lone = solve(pieces, machines, score(rule), alone, len(rule.runs)) if alone else None
    lone_score = score(lone.plan) if lone and lone.plan else None
    return Day(
        number,
        planned,
        score(answer.plan) if answer.plan else None,
        answer.bound,
        score(rule),
        planner_seconds,
        answer.seconds,
        closeness(answer, planned) <= CLOSE,
        illegal,
        plan.late_minutes,
        len(plan.runs),
        lone.seconds if lone else None,
        bool(lone and lone_score and lone_score <= lone.bound * (1 + CLOSE)),
    )


def summary(days: list[Day]) -> dict[str, float | int]:
    """The figures of the last line; gaps are shares (0.01 is one percent)."""
    solved = [day for day in days if day.solved]
    open_days = [day for day in days if not day.solved]

    def gaps(some: list[Day]) -> tuple[float, float]:
        found = [day.gap for day in some]
        return round(statistics.fmean(found), 5) if found else 0.0, round(max(found, default=0), 5)

    def speed(some: list[Day]) -> float:
        own = sum(day.planner_seconds for day in some)
        return round(sum(day.alone_seconds or 0 for day in some) / own, 1) if own else 0.0

    timed = [day for day in days if day.alone_seconds is not None]

    mean_gap, worst_gap = gaps(solved)
    open_mean, open_worst = gaps(open_days)
    return {
        "days": len(days),
        "solved": len(solved),
        "mean_gap": mean_gap,
        "worst_gap": worst_gap,
        "unproved": len(open_days),
        "unproved_mean_gap_to_bound": open_mean,
        "unproved_worst_gap_to_bound": open_worst,
        "speed_days": len(timed),
        "speed_ratio": speed(timed),
        "speed_days_solved": sum(day.alone_finished for day in timed),
        "speed_ratio_solved": speed([day for day in timed if day.alone_finished]),
        "illegal_loads": sum(day.illegal for day in days),
        "first_fit_mean_gap": round(statistics.fmean(d.first_fit / d.best - 1 for d in days), 5),
        "first_fit_median_gap": round(statistics.median(d.first_fit / d.best - 1 for d in days), 5),
        "late_days": sum(day.late > 0 for day in days),
        "planner_mean_seconds": round(statistics.fmean(d.planner_seconds for d in days), 4),
        "planner_worst_seconds": round(max(d.planner_seconds for d in days), 4),
    }


def sizes(number: int) -> list[int]:
    """Pieces of each day: spread evenly from 30 to 400, in a fixed mixed order."""
    step = (LARGEST - SMALLEST) / max(1, number - 1)
    found = [round(SMALLEST + step * place) for place in range(number)]
    random.Random(SEED).shuffle(found)
    return found


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.loads")
    parser.add_argument("--quick", action="store_true", help="a few days, under 45 seconds")
    parser.add_argument("--days", type=int, help=f"number of days ({DAYS})")
    parser.add_argument("--seconds", type=float, help=f"solver's limit a day ({SECONDS:g})")
    parser.add_argument("--alone", type=float, help=f"its limit when it works alone ({ALONE:g})")
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
    number = options.days or (QUICK_DAYS if options.quick else DAYS)
    seconds = options.seconds or (QUICK_SECONDS if options.quick else SECONDS)
    alone = options.alone or (QUICK_ALONE if options.quick else ALONE)
    days = []
    print(
        "pieces runs late    planner     solver      bound  first fit  solved   gap  plan s "
        "solve s alone s"
    )
    for place, size in enumerate(sizes(number)):
        day = measure(SEED + place, size, seconds, None if place % EVERY else alone)
        days.append(day)
        print(
            f"{day.pieces:6} {day.runs:4} {day.late:4} {day.planner:10} {day.solver or '-':>10} "
            f"{day.bound:10} {day.first_fit:10} {'yes' if day.solved else 'no':>7} "
            f"{day.gap:5.1%} {day.planner_seconds:7.3f} {day.solver_seconds:7.2f} "
            f"{'-' if day.alone_seconds is None else format(day.alone_seconds, '.2f'):>7}",
            flush=True,
        )
    result = summary(days)
    print(json.dumps(result))
    return 1 if result["illegal_loads"] else 0


if __name__ == "__main__":
    sys.exit(main())
