"""The days on which the load planner is measured, and the best plans known for them.

Days run from 30 to 400 pieces; on every third all is due in half the time, so that lateness
decides. Their seeds follow the product's version: nobody can tune for days that the next version
replaces. What solver and planner found for them at leisure (``python -m
tests.benchmarks.best_known``) lies in ``best_known.json``, as loads and not as figures: whoever
reads a plan judges it anew, by the rules and weights of now.
"""

from __future__ import annotations

import hashlib
import json
import random
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tests.tickets.loads.days import shop_day
from tests.tickets.loads.naive import illegal_loads, naive_score
from tests.tickets.loads.tables import components, fewest_runs, lower_bound, tables_of
from tickets.loads.items import LoadItem
from tickets.loads.planner import plan_loads
from tickets.loads.runs import Plan, lay_out
from tickets.shop.machine_facts import MachineFacts

DAYS = 24
SMALLEST, LARGEST = 30, 400
TIGHT_EVERY, TIGHT = 3, 0.5
"""Every third day is tight: its pieces are due in half the minutes, an hour at the earliest."""
MORE_ROUNDS = 20
"""How many times its rounds the planner takes where it searches at leisure."""
FILE = Path(__file__).with_name("best_known.json")
_PROJECT = Path(__file__).resolve().parents[2] / "pyproject.toml"


@dataclass(frozen=True)
class Day:
    """What waits, the machines, and what makes the day the same again: seed, size, tightness."""

    seed: int
    size: int
    tight: bool
    pieces: tuple[LoadItem, ...]
    machines: tuple[MachineFacts, ...]

    @property
    def key(self) -> str:
        return f"{self.seed} {self.size}"

    @property
    def facts(self) -> str:
        """A digest of all that the planner is told: care rules change what pieces allow."""
        facts = repr((sorted(self.pieces, key=lambda piece: piece.code), self.machines))
        return hashlib.sha256(facts.encode()).hexdigest()[:16]

    @property
    def floor(self) -> int:
        """A score that no plan can beat, by counting alone."""
        return lower_bound(tables_of(self.pieces, self.machines))

    @property
    def fewest_runs(self) -> int:
        tables = tables_of(self.pieces, self.machines)
        return sum(fewest_runs(tables, kinds) for kinds in components(tables))


@dataclass(frozen=True)
class Best:
    """The best plan known of a day, its score, who found it, and a score that none can beat."""

    plan: Plan
    score: int
    found_by: str
    bound: int


def seed_of_version() -> int:
    """A number of up to six figures that changes with the product's version."""
    version = tomllib.loads(_PROJECT.read_text(encoding="utf-8"))["project"]["version"]
    return int(hashlib.sha256(version.encode()).hexdigest(), 16) % 1_000_000


def sizes(number: int) -> list[int]:
    """Pieces of each day: spread evenly from 30 to 400, in a fixed mixed order."""
    step = (LARGEST - SMALLEST) / max(1, number - 1)
    spread = [round(SMALLEST + step * place) for place in range(number)]
    random.Random(number).shuffle(spread)
    return spread


def make_day(seed: int, size: int, tight: bool) -> Day:
    pieces, machines = shop_day(seed, size)
    if tight:
        pieces = [replace(piece, due=max(60, round(piece.due * TIGHT))) for piece in pieces]
    return Day(seed, size, tight, tuple(pieces), tuple(machines))


def all_days() -> list[Day]:
    seed = seed_of_version()
    return [
        make_day(seed + place, size, place % TIGHT_EVERY == 0)
        for place, size in enumerate(sizes(DAYS))
    ]


def rounds_of(size: int) -> int:
    """Rounds of a planner at leisure: twenty times the most that a day of this size gets."""
    from tickets.loads import planner

    usual = min(planner._EACH_ROUNDS * size, planner._ALL_ROUNDS // size)
    return MORE_ROUNDS * max(planner._LEAST_ROUNDS, usual)


def judged(plan: Plan, day: Day) -> int | None:
    """The plan's score by the plain reading of the rules; None where it breaks one."""
    return None if illegal_loads(plan, day.pieces) else naive_score(plan)


def read_best(days: Sequence[Day]) -> dict[str, Best]:
    """The plans kept, by key of their day: those that are legal now. The bound kept holds only for
    the facts that it was found for; a day that has changed has the one by counting."""
    if not FILE.exists():
        return {}
    kept = json.loads(FILE.read_text(encoding="utf-8"))["days"]
    plans: dict[str, Best] = {}
    for day in days:
        row = kept.get(day.key)
        plan = row and plan_of(row["loads"], day)
        score = plan and judged(plan, day)
        if plan and score:
            bound = row["bound"] if row["facts"] == day.facts else 0
            plans[day.key] = Best(plan, score, row["found_by"], max(bound, day.floor))
    return plans


def best_at_leisure(day: Day) -> Best:
    """What the planner finds in twenty times its rounds: for a day of which no plan is kept."""
    plan = plan_loads(day.pieces, day.machines, rounds_of(day.size))
    score = judged(plan, day)
    if score is None:
        raise AssertionError(f"day {day.key}: the planner at leisure breaks a rule")
    return Best(plan, score, "planner", day.floor)


def loads_of(plan: Plan) -> list[list[str]]:
    """A plan as it is kept: each run's machine and the codes of its pieces, in order of start."""
    return [[run.machine.key, *(piece.code for piece in run.pieces)] for run in plan.runs]


def plan_of(loads: Sequence[Sequence[str]], day: Day) -> Plan | None:
    """The plan of such loads; None where the day's pieces or machines do not allow it, or where it
    leaves a piece behind."""
    pieces = {piece.code: piece for piece in day.pieces}
    machines = {machine.key: machine for machine in day.machines}
    try:
        plan = lay_out((machines[key], [pieces[code] for code in codes]) for key, *codes in loads)
    except (KeyError, ValueError):
        return None
    return plan if {code for _, *codes in loads for code in codes} == set(pieces) else None
