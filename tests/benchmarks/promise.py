"""The promise against a simulated shop: ``python -m tests.benchmarks.promise [--quick]``.

``--first-seed`` takes other shops: what was tuned, was tuned on seeds 100 to 119.

Every run is a shop of its own that starts empty, works some weeks that don't count, and then the
weeks that do (``shopfloor`` says what happens to it). Three rules promise to the same customers:
the engine of ``tickets.promise`` with the margin it learns on the way, a fixed two days, and
Little's law (pieces in process over pieces finished). The crew works by promise, earliest first,
so each rule has a simulation of its own.

Customers of the same engine also come to shops that differ from what it reckons with (``WORLDS``),
with the plain quantile of the last 600 turnarounds beside it; their figures are printed under
``worlds`` and judge nothing.

Turnaround is what a customer waits: clock time from intake to ready, nights and Sundays included.
"kept" is the share of tickets ready by their promise; "quoted to achieved" is the mean promised
turnaround over the mean that came of it under the same rule. Beside it stands the same in opening
time, which no night can flatter. The table ends with a few tickets alone in an empty shop, whose
bare forecast stands beside the least end of all that an exact solver proves.

The last line is one JSON object. Exit status 2 when SimPy or OR-tools is not installed, 1 when a
ticket was never finished or expected before the exact optimum of its own pieces.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import random
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from tickets.promise.capacity import Capacity, Spell
from tickets.promise.engine import forecast, forecast_promise
from tickets.promise.margin import Margin, Miss, learn, way_of
from tickets.promise.queue import Queue, Waiting
from tickets.shop import minutes as workloads

try:
    from tests.benchmarks.shopfloor import (
        DAY,
        KINDS,
        MACHINES,
        OWN_WORLD,
        PEOPLE,
        TICKETS_AN_HOUR,
        WEEK,
        Clock,
        Job,
        Shop,
        World,
        partner_back,
    )
    from tests.tickets.promise.exact import least_end
except ModuleNotFoundError as missing:
    if (missing.name or "").split(".")[0] not in ("simpy", "ortools"):
        raise
    print(f"{missing.name} is not installed: install the group `oracle` of pyproject.toml.")
    sys.exit(2)

WARM_UP, COUNTED = 6, 10
RUNS, QUICK_RUNS = 15, 2
WORLD_RUNS, WORLD_RATE = 2, 0.85
"""Shops of each harder world, and how busy beside the others: where the press never rests, what
departs adds up without end and judges no rule."""
QUICK_WEEKS = 2, 3  # that don't count and that do, of one shop of each harder world
CASES, QUICK_CASES = 200, 20
MONDAY = datetime(2024, 1, 1, tzinfo=UTC)
ROUND = workloads.round_minutes()


class Hours:
    """The simulation's clock as the engine wants it."""

    def __init__(self, clock: Clock) -> None:
        self.clock = clock

    def is_open(self, at: datetime) -> bool:
        return self.clock.is_open(minutes(at))

    def next_open(self, at: datetime) -> datetime:
        return moment(self.clock.next_open(minutes(at)))

    def add_minutes(self, at: datetime, more: float) -> datetime:
        return moment(self.clock.add(minutes(at), more))

    def open_minutes(self, start: datetime, end: datetime) -> float:
        opened = self.clock.open_until
        return max(0.0, opened(minutes(end)) - opened(minutes(start)))

    def back(self, service: str, at: datetime) -> datetime | None:
        return moment(partner_back(self.clock, minutes(at)))


def moment(at: float) -> datetime:
    return MONDAY + timedelta(minutes=at)


def minutes(at: datetime) -> float:
    return (at - MONDAY).total_seconds() / 60


class Engine:
    """``tickets.promise``, its margin learned anew each day from the tickets done so far.

    It is told who is away today, as the owner of a shop tells it, and never who will be.
    A ticket that is not ready, though expected, counts with the time it is over already.
    """

    def __init__(self) -> None:
        self.margin, self.day, self.seen = Margin(), -1.0, 0
        self.misses: list[Miss] = []

    def __call__(self, shop: Shop, job: Job) -> None:
        if shop.env.now // DAY != self.day:
            self.day = shop.env.now // DAY
            self._learn(shop)
        queue = Queue(
            (
                Waiting(waiting.number, moment(waiting.due), tasks)
                for waiting in shop.open.values()
                for tasks in waiting.todo.values()
            ),
            self._capacity(shop),
        )
        promise = forecast_promise(
            job.routes, moment(job.came), Hours(shop.clock), queue, self.margin, ROUND
        )
        job.expected, job.path = minutes(promise.forecast.at), promise.forecast.path
        job.due = minutes(promise.at)

    def _capacity(self, shop: Shop) -> Capacity:
        spells = {
            station: [Spell(moment(self.day * DAY), moment((self.day + 1) * DAY), there / usual)]
            for station, usual in PEOPLE.items()
            if (there := shop.present[station]) != usual
        }
        rails = {"rail": [moment(at) for at in shop.rail_frees]} if shop.rail_frees else {}
        return Capacity(PEOPLE, MACHINES, spells, rails)

    def _learn(self, shop: Shop) -> None:
        count = shop.clock.open_until

        def miss(job: Job, ready: float) -> Miss:
            return Miss(way_of(job.routes), count(ready) - count(job.expected), job.path)

        self.misses += [miss(job, job.ready) for job in shop.done[self.seen :]]
        self.seen = len(shop.done)
        overdue = (job for job in shop.open.values() if job.expected < shop.env.now)
        self.margin = learn([*self.misses, *(miss(job, shop.env.now) for job in overdue)])


def two_days(shop: Shop, job: Job) -> None:
    """In two days at the same hour, or at the next opening after that."""
    job.due = shop.clock.next_open(job.came + 2 * DAY)


class Little:
    """Pieces in process over pieces finished an open minute, over the last two weeks."""

    def __call__(self, shop: Shop, job: Job) -> None:
        since = job.came - 14 * DAY
        finished = 0
        for past in reversed(shop.done):
            if past.ready < since:
                break
            finished += len(past.routes)
        in_process = sum(len(past.routes) for past in shop.jobs) - sum(
            len(past.routes) for past in shop.done
        )
        spent = shop.clock.open_until(job.came) - shop.clock.open_until(max(0.0, since))
        wait = in_process / finished * spent if finished else 600.0
        due = shop.clock.add(job.came, wait)
        job.due = shop.clock.next_open(math.ceil(due / 60) * 60.0)


class PlainQuantile:
    """What 97 % of the last 600 turnarounds did not exceed, in opening time; two days at first."""

    def __call__(self, shop: Shop, job: Job) -> None:
        if len(shop.done) < 30:
            two_days(shop, job)
            return
        count = shop.clock.open_until
        spent = sorted(count(past.ready) - count(past.came) for past in shop.done[-600:])
        wait = spent[math.ceil(0.97 * len(spent)) - 1]
        job.due = shop.clock.next_open(math.ceil(shop.clock.add(job.came, wait) / 30) * 30.0)


WORLDS = {
    "redo of 6 %": World(redo=0.06),
    "a quarter out of turn": World(out_of_turn=0.25),
    "minutes wrong by a fifth": World(minutes_off=0.2),
    "five times the breakdowns": World(breakdowns=5.0),
    "a partner late one time in five": World(partner_late=0.2),
    "full rails": World(rails=34),
}


@dataclass
class Tally:
    """Sums over tickets; turnarounds in minutes."""

    tickets: int = 0
    unfinished: int = 0
    kept: int = 0
    quoted: float = 0.0
    achieved: float = 0.0
    quoted_open: float = 0.0
    achieved_open: float = 0.0
    late: list[float] = field(default_factory=list)
    busy: dict[str, float] = field(default_factory=dict)

    def count(self, shop: Shop, first: float, last: float) -> None:
        """Add the tickets that came between two moments."""
        opened = shop.clock.open_until
        for job in shop.jobs:
            if not first <= job.came < last:
                continue
            self.tickets += 1
            if not job.ready:
                self.unfinished += 1
                continue
            self.kept += job.ready <= job.due
            if job.ready > job.due:
                self.late.append(opened(job.ready) - opened(job.due))
            self.quoted += job.due - job.came
            self.achieved += job.ready - job.came
            self.quoted_open += opened(job.due) - opened(job.came)
            self.achieved_open += opened(job.ready) - opened(job.came)
        for station, spent in shop.busy.items():
            self.busy[station] = self.busy.get(station, 0.0) + spent / opened(last)

    def add(self, other: Tally) -> None:
        self.tickets += other.tickets
        self.unfinished += other.unfinished
        self.kept += other.kept
        self.quoted += other.quoted
        self.achieved += other.achieved
        self.quoted_open += other.quoted_open
        self.achieved_open += other.achieved_open
        self.late += other.late
        for station, share in other.busy.items():
            self.busy[station] = self.busy.get(station, 0.0) + share

    def figures(self) -> dict[str, float]:
        return {
            "kept": round(self.kept / self.tickets, 4),
            "quoted_to_achieved": round(self.quoted / self.achieved, 3),
            "quoted_to_achieved_open": round(self.quoted_open / self.achieved_open, 3),
            "achieved_hours": round(self.achieved / 60 / self.tickets, 1),
        }


Rule = Callable[[Shop, Job], None]
RULES: dict[str, Callable[[], Rule]] = {
    "engine": Engine,
    "two_days": lambda: two_days,
    "littles_law": Little,
}
BESIDE: dict[str, Callable[[], Rule]] = {"engine": Engine, "quantile": PlainQuantile}
"""The rules that promise in the harder worlds."""


def one_shop(
    rule: str, seed: int, rate: float, world: World, weeks: tuple[int, int] = (WARM_UP, COUNTED)
) -> Tally:
    tally = Tally()
    shop = Shop(seed, sum(weeks), {**RULES, **BESIDE}[rule](), rate, world).run()
    tally.count(shop, weeks[0] * WEEK, sum(weeks) * WEEK)
    return tally


def simulate(
    rule: str, seeds: Sequence[int], rate: float = TICKETS_AN_HOUR, world: World = OWN_WORLD
) -> Tally:
    """All shops of one rule, as many at a time as there are processors."""
    total, count = Tally(), len(seeds)
    with ProcessPoolExecutor(os.cpu_count()) as workers:
        for tally in workers.map(one_shop, [rule] * count, seeds, [rate] * count, [world] * count):
            total.add(tally)
    return total


def in_worlds(
    seeds: Sequence[int], rate: float, weeks: tuple[int, int]
) -> dict[str, dict[str, dict[str, float]]]:
    """By world and rule: the share of promises kept, and quoted over achieved turnaround."""
    cases = [(name, rule, seed) for name in WORLDS for rule in BESIDE for seed in seeds]
    names, rules, shops = zip(*cases, strict=True)
    tallies = {(name, rule): Tally() for name in WORLDS for rule in BESIDE}
    with ProcessPoolExecutor(os.cpu_count()) as workers:
        worlds = [WORLDS[name] for name in names]
        count = len(cases)
        played = workers.map(one_shop, rules, shops, [rate] * count, worlds, [weeks] * count)
        for name, rule, tally in zip(names, rules, played, strict=True):
            tallies[name, rule].add(tally)
    worlds_told: dict[str, dict[str, dict[str, float]]] = {name: {} for name in WORLDS}
    for (name, rule), tally in tallies.items():
        figures = tally.figures()
        worlds_told[name][rule] = {word: figures[word] for word in ("kept", "quoted_to_achieved")}
        print(f"{name:32} {rule:9} {figures['kept']:6.1%} {figures['quoted_to_achieved']:16.3f}")
    return worlds_told


class AlwaysOpen:
    """Hours of a shop that never closes, as the exact solver reckons."""

    def is_open(self, at: datetime) -> bool:
        return True

    def next_open(self, at: datetime) -> datetime:
        return at

    def add_minutes(self, at: datetime, more: float) -> datetime:
        return at + timedelta(minutes=more)

    def open_minutes(self, start: datetime, end: datetime) -> float:
        return max(0.0, minutes(end) - minutes(start))

    def back(self, service: str, at: datetime) -> datetime | None:
        return None


def beside_exact(cases: int) -> dict[str, float]:
    """Small tickets in an empty shop: the bare forecast over the exact optimum."""
    ratios, below, unproved = [], 0, 0
    for seed in range(cases):
        draw = random.Random(f"exact {seed}")
        kinds = draw.choices(KINDS, [kind[0] for kind in KINDS], k=draw.randint(1, 6))
        routes = [kind[1] for kind in kinds]
        best = least_end(routes, PEOPLE, seconds=10.0)
        end = minutes(forecast(routes, MONDAY, AlwaysOpen(), Capacity(PEOPLE), {}).at)
        below += end < best.bound - 0.001
        unproved += best.end > best.bound
        ratios.append(end / best.bound)
    return {
        "cases": cases,
        "below_bound": below,
        "not_proved": unproved,
        "forecast_to_bound": round(math.fsum(ratios) / cases, 3),
    }


def main() -> int:
    parser = argparse.ArgumentParser(description="The promise against a simulated shop.")
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_RUNS} shops, not {RUNS}")
    parser.add_argument("--first-seed", type=int, default=0, help="the first shop's seed (0)")
    parser.add_argument(
        "--tickets-an-hour", type=float, default=TICKETS_AN_HOUR, help="how busy the shop is"
    )
    asked = parser.parse_args()
    runs = QUICK_RUNS if asked.quick else RUNS
    seeds = range(asked.first_seed, asked.first_seed + runs)
    rules: dict[str, dict[str, float]] = {}
    unfinished = 0
    print(f"{runs * COUNTED} weeks of {runs} shops; turnaround in clock time", flush=True)
    print(
        "rule         tickets   kept  quoted/achieved  in open time  achieved h  late by (open h)"
    )
    for rule in RULES:
        begun = time.perf_counter()
        tally = simulate(rule, seeds, asked.tickets_an_hour)
        rules[rule], unfinished = tally.figures(), unfinished + tally.unfinished
        row = rules[rule]
        late = sum(tally.late) / 60 / max(1, len(tally.late))
        print(
            f"{rule:12} {tally.tickets:7} {row['kept']:6.1%} {row['quoted_to_achieved']:16.3f} "
            f"{row['quoted_to_achieved_open']:13.3f} {row['achieved_hours']:11.1f} {late:10.1f}"
            f"   ({time.perf_counter() - begun:.0f} s)",
            flush=True,
        )
        if rule == "engine":
            counts = {**PEOPLE, **{f"{name} drum": many for name, many in MACHINES.items()}}
            busy = {name: tally.busy[name] / runs / many for name, many in counts.items()}
    print("busy share of opening time: ", end="")
    print(", ".join(f"{name} {share:.0%}" for name, share in busy.items()))
    few, weeks = (1, QUICK_WEEKS) if asked.quick else (WORLD_RUNS, (WARM_UP, COUNTED))
    worlds = in_worlds(seeds[:few], WORLD_RATE * asked.tickets_an_hour, weeks)
    exact = beside_exact(QUICK_CASES if asked.quick else CASES)
    print(
        f"{exact['cases']} small tickets beside an exact solver: forecast over optimum "
        f"{exact['forecast_to_bound']:.3f} on average, before it {exact['below_bound']}, "
        f"optimum not proved {exact['not_proved']}"
    )
    engine = rules.pop("engine")
    result = {"weeks": runs * COUNTED, **engine, **rules, "worlds": worlds}
    result |= {"exact": exact, "unfinished": unfinished}
    print(json.dumps(result))
    return 1 if unfinished or exact["below_bound"] else 0


if __name__ == "__main__":
    sys.exit(main())
