"""The margin of this shop: what its finished tickets would have been told, and what came of it.

Past queues are rebuilt from the steps: what was open when a ticket came in, with today's crew,
machines and opening hours. So no forecast has to be kept, a promise that staff moved by hand does
not spoil the lesson, and a change of crew is seen with the whole history at once. Who was away on
the day that a ticket came in was known then, and counts; who was away later was not. Machines are
left out of the look back: where they hold work up, that counts as a miss and widens the margin. A
ticket that is still open though it was expected counts with the time it is over already.
"""

from __future__ import annotations

import heapq
from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from tickets.choices import PieceState
from tickets.models import CrewDay, Hold, RouteStep, Ticket
from tickets.promise.capacity import Capacity, Spell
from tickets.promise.engine import forecast
from tickets.promise.margin import ENOUGH, REMEMBERED, Margin, Miss, learn, way_of
from tickets.promise.queries import shop_capacity
from tickets.promise.tasks import Task
from tickets.shop import minutes as workloads
from tickets.shop.calendar import ShopCalendar, business_day, start_of

_People = tuple[tuple[str, float], ...]

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


def learned_margin(calendar: ShopCalendar, capacity: Capacity) -> Margin:
    """The margin from tickets that were ready before today: so it is learned anew once a day.

    Rush tickets and tickets with a hold teach nothing: they waited for something else.
    """
    today = start_of(business_day(timezone.now()))
    newest = _past(today).first()
    if newest is None:
        return Margin()
    others = CrewDay.objects.order_by("pk").values_list("station", "day", "people")
    return _look_back(
        newest, today, calendar, tuple(sorted(capacity.people.items())), tuple(others)
    )


_Row = tuple[int, datetime, datetime | None, datetime]


def _teaching() -> QuerySet[Ticket]:
    return Ticket.objects.filter(
        ~Exists(Hold.objects.filter(piece__ticket=OuterRef("pk"))), rush=False
    )


def _past(today: datetime) -> QuerySet[Ticket, _Row]:
    """Tickets that were ready before today, the newest first."""
    return (
        _teaching()
        .filter(ready_at__lt=today)
        .order_by("-ready_at", "-number")
        .values_list("number", "opened_at", "ready_at", "promised_at")
    )


def _still_open(today: datetime) -> list[Past]:
    """Tickets of earlier days that were not ready when today began."""
    rows = _teaching().filter(
        Q(ready_at__isnull=True, closed_at__isnull=True) | Q(ready_at__gte=today),
        opened_at__lt=today,
    )
    return [
        Past(number, opened, today, promised, ready=False)
        for number, opened, promised in rows.order_by("number").values_list(
            "number", "opened_at", "promised_at"
        )
    ]


@lru_cache(maxsize=4)
def _look_back(
    newest: _Row,
    today: datetime,
    calendar: ShopCalendar,
    people: _People,
    others: tuple[tuple[str, date, Decimal], ...],
) -> Margin:
    """Worked out once for a newest ticket: the first ticket of a day waits for it, no other. All
    that it reads is named, so that another crew is seen at once."""
    past = [Past(n, opened, r, due) for n, opened, r, due in _past(today)[:REMEMBERED] if r]
    if len(past) < ENOUGH:
        return Margin()
    away = _by_day(others)
    taught = _taught(calendar, people)
    lessons = {row: (row, away.get(business_day(row.opened_at))) for row in past}
    unseen = [row for row in past if lessons[row] not in taught]
    found = dict(_found([*unseen, *_still_open(today)], calendar, people))
    taught.update((lessons[row], found.pop(row, None)) for row in unseen)
    told = {**{row: taught[lessons[row]] for row in past}, **found}
    return learn(miss for row in sorted(told, key=_by_opening) if (miss := told[row]) is not None)


_Away = tuple[tuple[str, Decimal], ...]
_Taught = dict[tuple[Past, _Away | None], Miss | None]


@lru_cache(maxsize=4)
def _taught(calendar: ShopCalendar, people: _People) -> _Taught:
    """What each ticket taught, with the crew of its first day: a past that does not change is
    looked back at one time only, so that a new day costs the tickets of one day."""
    return {}


def _by_day(others: Iterable[tuple[str, date, Decimal]]) -> dict[date, _Away]:
    found: dict[date, list[tuple[str, Decimal]]] = defaultdict(list)
    for station, day, people in others:
        found[day].append((station, people))
    return {day: tuple(sorted(each)) for day, each in found.items()}


def _by_opening(row: Past) -> tuple[datetime, int]:
    return row.opened_at, row.number


def _found(
    rows: Sequence[Past], calendar: ShopCalendar, people: _People
) -> Iterator[tuple[Past, Miss]]:
    if rows:
        first = min(row.opened_at for row in rows)
        spells = shop_capacity(since=business_day(first)).spells
        yield from misses(
            rows, _steps_since(first), calendar, Capacity(dict(people), spells=spells)
        )


def _steps_since(first: datetime) -> list[Done]:
    rows = (
        RouteStep.objects.filter(Q(done_at__isnull=True) | Q(done_at__gte=first))
        .exclude(piece__state=PieceState.RETURNED)
        .order_by("piece_id", "order")
        .values_list(
            "piece__ticket__number",
            "piece__ticket__opened_at",
            "piece__promised_at",
            "piece_id",
            "station",
            "minutes",
            "step",
            "settings",
            "done_at",
        )
    )
    return [
        Done(
            number,
            opened,
            promised,
            piece,
            Task(
                station,
                float(minutes),
                workloads.waits_by_settings(step, settings),
                partner=workloads.partner_service(step, settings),
            ),
            done,
        )
        for number, opened, promised, piece, station, minutes, step, settings, done in rows
    ]


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
    for row in sorted(past, key=_by_opening):
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
    return {day: Capacity(capacity.people, spells=each) for day, each in spells.items()}


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
    found = forecast(routes, begins, calendar, capacity, ahead)
    late = calendar.open_minutes(found.at, row.ready_at)
    early = calendar.open_minutes(row.ready_at, found.at)
    return Miss(way_of(routes), late - early, found.path)
