"""Finds the best plans for the days of ``load_days`` and keeps them in ``best_known.json``.

    python -m tests.benchmarks.best_known [--seconds 60] [--days N]

For each day OR-tools CP-SAT on one worker, told the planner's score as a cut-off, gets so many
seconds, and the planner twenty times its rounds; the better plan is kept, as loads, with the
solver's bound. Needs the group ``oracle``. It takes about a minute a day and is run by hand, when a
version brings new days.
"""

from __future__ import annotations

import argparse
import json
import os
from typing import Any

SECONDS = 60.0


def main(arguments: list[str] | None = None) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.best_known")
    parser.add_argument("--seconds", type=float, default=SECONDS, help="the solver's, for each day")
    parser.add_argument("--days", type=int, help="only the first so many")
    options = parser.parse_args(arguments)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from tests.benchmarks import load_days

    rows: dict[str, dict[str, Any]] = {}
    for day in load_days.all_days()[: options.days]:
        rows[day.key] = row = find(day, options.seconds)
        print(day.size, "tight" if day.tight else "", row["found_by"], row["bound"], flush=True)
        said = {"seed": load_days.seed_of_version(), "seconds": options.seconds, "days": rows}
        load_days.FILE.write_text(json.dumps(said, separators=(",", ":")).replace("},", "},\n"))


def find(day: Any, seconds: float) -> dict[str, Any]:
    """The row of one day: its bound, its best loads, and which of the two found them."""
    from tests.benchmarks import load_days
    from tests.tickets.loads.oracle import solve
    from tickets.loads.runs import score

    best = load_days.best_at_leisure(day)
    answer = solve(day.pieces, day.machines, best.score, seconds)
    if answer.plan is not None and load_days.judged(answer.plan, day) is None:
        raise AssertionError(f"day {day.key}: the solver's plan breaks a rule; its model is wrong")
    plan, found_by = best.plan, "planner"
    if answer.plan is not None and score(answer.plan) < best.score:
        plan, found_by = answer.plan, "solver"
    loads = load_days.loads_of(plan)
    return {"facts": day.facts, "bound": answer.bound, "found_by": found_by, "loads": loads}


if __name__ == "__main__":
    main()
