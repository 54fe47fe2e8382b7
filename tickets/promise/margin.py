"""How much later than expected to promise, learned from how far past tickets missed.

The forecast counts work, queues and waits, and nothing that goes wrong. What it leaves out grows
with the way: pieces lie until the next round, quick tickets come in between, people are away. So
the margin is a line, fixed minutes and a share of the open minutes of queue and work on the way:
the line over past tickets of the same kind of way below which 96.3 % of their misses lie (linear
quantile regression: Koenker and Bassett 1978, "Regression Quantiles", from memory). Its height is
taken as if one ticket more had been seen (rank ``ceil((n + 1) q)``), as in split conformal
prediction (Vovk, Gammerman and Shafer 2005, "Algorithmic Learning in a Random World", from
memory). The share is never below zero: a longer queue never brings an earlier promise.

A way longer than most of the past says that queues grow, and so that the past is too mild a
teacher: what is beyond the usual way adds a share of its own.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from tickets.promise.tasks import Task

QUANTILE = 0.963
"""Share of past tickets that the margin would have kept on time."""

PRIOR = 0.2
"""The share of a shop without history: a fifth (common practice, no source). It is taken of the
way with the crew's rounds, which come on top as the fixed part."""

ENOUGH = 30
"""Past tickets of one kind of way from which on they count and the prior does not."""

REMEMBERED = 4000
"""The newest past tickets that still count: ten weeks of a busy shop. Fewer forget what a day with
people away did."""

USUAL, BEYOND = 0.8, 0.3
"""The share of past tickets whose way was at most the usual, and what each minute beyond it adds.
Chosen by simulation on shops whose queues grew; no source."""

SHARES = tuple(step / 10 for step in range(16))
"""The slopes among which the best line is sought."""

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


@dataclass(frozen=True)
class MarginLine:
    """``fixed`` open minutes (below 0 where only a long way misses), and a ``share`` of the open
    minutes on the way; together never below 0. ``usual``: open minutes of a usual way."""

    fixed: float
    share: float
    usual: float = math.inf

    def at(self, path: float) -> float:
        return max(0.0, self.fixed + self.share * path) + BEYOND * max(0.0, path - self.usual)


@dataclass(frozen=True)
class Margin:
    """What to add by kind of way; ``tickets``: how many it was learned from."""

    lines: Mapping[str, MarginLine] = field(default_factory=dict)
    tickets: int = 0

    def minutes(self, way: str, path: float, rounds: float = 0.0) -> float:
        """Open minutes to add to the forecast of a ticket.

        ``rounds``: open minutes that the crew's rounds may cost on the way. They count as long
        as nothing was learned about such ways; what was learned has them in it.
        """
        if way in self.lines:
            return self.lines[way].at(path)
        return rounds + PRIOR * (path + rounds)


def learn(misses: Iterable[Miss], quantile: float = QUANTILE) -> Margin:
    """The margin that would have kept ``quantile`` of these tickets, oldest first."""
    ways: dict[str, list[Miss]] = defaultdict(list)
    for miss in list(misses)[-REMEMBERED:]:
        ways[miss.way].append(miss)
    lines = {way: _line(every, quantile) for way, every in ways.items() if len(every) >= ENOUGH}
    return Margin(lines, sum(len(every) for every in ways.values()))


def _line(misses: Sequence[Miss], quantile: float) -> MarginLine:
    """The least loss of all slopes, each with the height that keeps the quantile."""
    place = min(len(misses), math.ceil((len(misses) + 1) * quantile)) - 1
    usual = sorted(miss.path for miss in misses)[int(USUAL * (len(misses) - 1))]
    best, least = MarginLine(0.0, 0.0), math.inf
    for share in SHARES:
        rest = sorted(miss.minutes - share * miss.path for miss in misses)
        fixed = rest[place]
        over = math.fsum(minutes - fixed for minutes in rest if minutes > fixed)
        under = math.fsum(fixed - minutes for minutes in rest if minutes < fixed)
        loss = quantile * over + (1 - quantile) * under
        if loss < least:
            best, least = MarginLine(fixed, share, usual), loss
    return best
