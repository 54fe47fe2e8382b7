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
