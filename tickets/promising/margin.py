"""How much later than expected to promise, learned from how far past tickets missed.

The margin is a share of the open minutes of queue and work on a ticket's way: the 96.5 % quantile
of the shares that past tickets of the same kind of way would have needed. Seven in two hundred
would have come later; the crew works by promise and rescues some of those. The quantile is taken
as if one ticket more had been seen (rank ``ceil((n + 1) q)``), as in split conformal prediction
(Vovk, Gammerman and Shafer 2005, "Algorithmic Learning in a Random World", from memory).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from tickets.promising.facts import Task

QUANTILE = 0.965
"""Share of past tickets that the margin would have kept on time."""

PRIOR = 0.2
"""The share of a shop without history: a fifth (common practice, no source)."""

ENOUGH = 30
"""Past tickets of one kind of way from which on they count and the prior does not."""

MOST = 600
"""The newest past tickets of one kind of way that still count."""

_WAYS = ((30.0, "at once"), (240.0, "machines"), (1080.0, "a night"), (2880.0, "a day"))


def way_of(routes: Iterable[Sequence[Task]]) -> str:
    """The kind of way, by the longest clock wait on it: tickets of a kind miss alike."""
    longest = max((task.waits for route in routes for task in route), default=0.0)
    return next((word for most, word in _WAYS if longest < most), "days")


@dataclass(frozen=True)
class Miss:
    """A past ticket: open minutes from its expected to its actual ready time (below 0: it was
    early), and the open minutes of queue and work that were foreseen."""

    way: str
    minutes: float
    path: float

    @property
    def share(self) -> float:
        return self.minutes / max(self.path, 1.0)


@dataclass(frozen=True)
class Margin:
    """``shares`` of the way to add, by kind of way; ``tickets`` they were learned from."""

    shares: Mapping[str, float] = field(default_factory=dict)
    tickets: int = 0

    def minutes(self, way: str, path: float) -> float:
        return self.shares.get(way, PRIOR) * path


def learn(misses: Iterable[Miss], quantile: float = QUANTILE) -> Margin:
    """The margin that would have kept ``quantile`` of these tickets, oldest first.

    Never below zero: a negative one would let a longer queue bring an earlier promise.
    """
    shares: dict[str, list[float]] = defaultdict(list)
    for miss in misses:
        shares[miss.way].append(miss.share)
    learned = {}
    for way, every in shares.items():
        newest = sorted(every[-MOST:])
        if len(newest) >= ENOUGH:
            rank = min(len(newest), math.ceil((len(newest) + 1) * quantile))
            learned[way] = max(0.0, newest[rank - 1])
    return Margin(learned, sum(len(every) for every in shares.values()))
