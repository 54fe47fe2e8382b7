"""What came of past tickets: how far each missed the forecast of its first minute."""

from __future__ import annotations

import heapq
from collections import Counter, defaultdict, deque
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import NamedTuple

from tickets.promise.capacity import Capacity, Spell
from tickets.promise.engine import forecast
from tickets.promise.margin import Miss, way_of
from tickets.promise.tasks import Task
from tickets.shop.calendar import ShopCalendar, business_day

_Work = dict[tuple[int, datetime], dict[str, float]]
"""Crew minutes at each station, by ticket and by the promise of its pieces."""


class Past(NamedTuple):
    """``ready_at`` of a ticket that is not ``ready`` is the moment until which it was not."""

    number: int
    opened_at: datetime
    ready_at: datetime
    promised_at: datetime
    ready: bool = True


class Done(NamedTuple):
    """A step of a piece. ``done_at`` is None while it is open."""

    number: int
    opened_at: datetime
    promised_at: datetime
    piece: int
    task: Task
    done_at: datetime | None


def by_opening(row: Past) -> tuple[datetime, int]:
    """The order in which tickets came in."""
    return row.opened_at, row.number


def misses(
    past: Sequence[Past], steps: Sequence[Done], calendar: ShopCalendar, capacity: Capacity
) -> Iterator[tuple[Past, Miss]]:
    """How far tickets missed the forecast of their first minute; none without steps, and none of
    a ticket that was neither ready nor expected yet. ``capacity`` has the spells of past days.

    One walk through time, so that thousands of tickets cost seconds: steps join the queue when
    their ticket comes in, and leave it when they are done.
    """
    usual, known = Capacity(capacity.people), _known_on_the_day(capacity)
    routes: dict[int, dict[int, list[Task]]] = defaultdict(lambda: defaultdict(list))
    for step in steps:
        routes[step.number][step.piece].append(step.task)
    coming = deque(sorted(steps, key=lambda step: step.opened_at))
    leaving: list[tuple[datetime, int, Done]] = []
    work: _Work = defaultdict(lambda: defaultdict(float))
    still_open: Counter[tuple[int, datetime]] = Counter()
    for row in sorted(past, key=by_opening):
        while coming and coming[0].opened_at < row.opened_at:
            step = coming.popleft()
            still_open[step.number, step.promised_at] += 1
            work[step.number, step.promised_at][step.task.station] += step.task.crew
            if step.done_at is not None:
                heapq.heappush(leaving, (step.done_at, len(coming), step))
        while leaving and leaving[0][0] <= row.opened_at:
            _done_at, _place, step = heapq.heappop(leaving)
            key = step.number, step.promised_at
            work[key][step.task.station] -= step.task.crew
            still_open[key] -= 1
            if not still_open[key]:
                del work[key]
        pieces = list(routes[row.number].values())
        if pieces:
            ahead = _ahead(work, row, capacity)
            there = known.get(business_day(row.opened_at), usual)
            miss = _miss(row, pieces, ahead, calendar, there)
            if row.ready or miss.minutes > 0:
                yield row, miss


def _known_on_the_day(capacity: Capacity) -> dict[date, Capacity]:
    """Each day with another crew -> people as they were known on that day."""
    spells: dict[date, dict[str, list[Spell]]] = defaultdict(dict)
    for station, every in capacity.spells.items():
        for spell in every:
            spells[business_day(spell.begins)][station] = [spell]
    return {day: Capacity(capacity.people, spells=shares) for day, shares in spells.items()}


def _ahead(work: _Work, row: Past, capacity: Capacity) -> dict[str, float]:
    """Open minutes of the work of other tickets that is due by this one's promise."""
    crew: dict[str, float] = defaultdict(float)
    for (number, due), stations in work.items():
        if due <= row.promised_at and number != row.number:
            for station, minutes in stations.items():
                crew[station] += minutes
    return {station: capacity.minutes(station, minutes, 0.0) for station, minutes in crew.items()}


def _miss(
    row: Past,
    routes: Sequence[Sequence[Task]],
    ahead: Mapping[str, float],
    calendar: ShopCalendar,
    capacity: Capacity,
) -> Miss:
    begins = calendar.counts_from(row.opened_at)
    outcome = forecast(routes, begins, calendar, capacity, ahead)
    late = calendar.open_minutes(outcome.at, row.ready_at)
    early = calendar.open_minutes(row.ready_at, outcome.at)
    return Miss(way_of(routes), late - early, outcome.path)
