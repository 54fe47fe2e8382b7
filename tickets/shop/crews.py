"""How many people work at each station over a day, from what the owner told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from statistics import mean

from tickets.models import OpeningHours

MOST_PEOPLE, MOST_DAYS, MOST_AHEAD = 99, 92, 1000
"""More than anybody means: a number with a digit too many is caught. ``MOST_AHEAD``: days from
today on, more than any calendar is searched for an open day."""


@dataclass(frozen=True)
class Crews:
    """Station -> people, with those who are there for only part of the day as that part of one.

    ``usual``: on any day (a station left out: one person). ``days``: where a day is otherwise.
    """

    usual: Mapping[str, float]
    days: Mapping[date, Mapping[str, float]] = field(default_factory=dict)

    def on(self, day: date) -> dict[str, float]:
        return {**self.usual, **self.days.get(day, {})}


def working_minutes(week: Iterable[OpeningHours]) -> float:
    """Minutes of work of the mean working day; 0 for a shop that never opens."""
    days = [
        _minutes(row.opens, row.closes)
        - (_minutes(row.break_from, row.break_until) if row.break_from and row.break_until else 0.0)
        for row in week
    ]
    return mean(days) if days else 0.0


def _minutes(start: time, end: time) -> float:
    any_day = date(2000, 1, 1)
    between = datetime.combine(any_day, end) - datetime.combine(any_day, start)
    return between.total_seconds() / 60
