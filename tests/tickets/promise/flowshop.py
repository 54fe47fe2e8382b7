"""Exact small cases: every order of at most seven jobs tried."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

Jobs = Sequence[Sequence[float]]
"""Minutes of each job at each station; all pass the stations in the same order."""


def makespan(jobs: Jobs, order: Sequence[int]) -> float:
    """End of the last job when every station works in this order."""
    ends = [0.0] * len(jobs[0])
    for number in order:
        before = 0.0
        for station, minutes in enumerate(jobs[number]):
            before = ends[station] = max(before, ends[station]) + minutes
    return ends[-1]


def best_makespan(jobs: Jobs) -> float:
    assert len(jobs) <= 7, "eight jobs have 40,320 orders"
    return min(makespan(jobs, order) for order in permutations(range(len(jobs))))


def johnson(jobs: Jobs) -> list[int]:
    """Johnson's order for two stations: short first steps first, short second steps last."""
    first = sorted((a, n) for n, (a, b) in enumerate(jobs) if a < b)
    second = sorted(((b, n) for n, (a, b) in enumerate(jobs) if a >= b), reverse=True)
    return [number for _, number in first + second]


def neh(jobs: Jobs) -> list[int]:
    """Longest jobs first, each put where it costs least (Nawaz, Enscore and Ham 1983)."""
    order: list[int] = []
    for job in sorted(range(len(jobs)), key=lambda number: (-sum(jobs[number]), number)):
        places = ([*order[:place], job, *order[place:]] for place in range(len(order) + 1))
        order = min(places, key=lambda sequence: makespan(jobs, sequence))
    return order


def taillard(seed: int, jobs: int, stations: int) -> list[tuple[int, ...]]:
    """An instance of Taillard 1993, "Benchmarks for basic scheduling problems": minutes 1 to 99
    from the generator he gives, station by station."""
    rows = []
    for _ in range(stations):
        row = []
        for _ in range(jobs):
            seed = 16807 * seed % 2147483647
            row.append(1 + int(seed / 2147483647 * 99))
        rows.append(row)
    return list(zip(*rows, strict=True))
