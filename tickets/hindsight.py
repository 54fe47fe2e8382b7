"""The margin of this shop: what its finished tickets would have been told, and what came of it.

Past queues are rebuilt from the steps: what was open when a ticket came in, with today's crew,
machines and opening hours. So no forecast has to be kept, a promise that staff moved by hand does
not spoil the lesson, and a change of crew is seen with the whole history at once. Machines are
left out of the look back: where they hold work up, that counts as a miss and widens the margin.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, time
from functools import lru_cache
from typing import NamedTuple

from django.db.models import Q
from django.utils import timezone

from tickets import workloads
from tickets.calendar import ShopCalendar, business_day, start_of
from tickets.choices import PieceState
from tickets.models import RouteStep, Ticket
from tickets.promising import Capacity, Margin, Miss, Queue, Task, Waiting, forecast, learn, way_of
from tickets.promising.margin import ENOUGH

TICKETS = 210
"""The newest finished tickets that are looked back at."""

LESSON = 30
"""The margin is learned anew with so many finished tickets more, not with each."""


_Hours = tuple[tuple[tuple[int, tuple[time, time]], ...], frozenset[date]]
_People = tuple[tuple[str, float], ...]


class Past(NamedTuple):
    number: int
    opened_at: datetime
    ready_at: datetime
    promised_at: datetime


class Done(NamedTuple):
    """A step of a piece. ``done_at`` is None while it is open."""

    number: int
    opened_at: datetime
    promised_at: datetime
    piece: int
    task: Task
    done_at: datetime | None


def learned_margin(calendar: ShopCalendar, capacity: Capacity) -> Margin:
    """The margin from tickets that were ready before today.

    Rush tickets and tickets with a hold teach nothing: they waited for something else.
    """
    tickets = (
        Ticket.objects.filter(
            ready_at__lt=start_of(business_day(timezone.now())),
            rush=False,
            pieces__holds__isnull=True,
        )
        .order_by("-ready_at", "-number")
        .values_list("number", "opened_at", "ready_at", "promised_at")
        .distinct()
    )
    not_yet = tickets.count() % LESSON
    rows = tickets[not_yet : not_yet + TICKETS]
    past = tuple(Past(n, opened, r, promised) for n, opened, r, promised in rows if r)
    if len(past) < ENOUGH:
        return Margin()
    hours = (tuple(sorted(calendar.hours.items())), calendar.closed)
    people = tuple(sorted(capacity.people.items()))
    return _look_back(past, hours, people)


@lru_cache(maxsize=4)
def _look_back(past: tuple[Past, ...], hours: _Hours, people: _People) -> Margin:
    calendar, capacity = ShopCalendar(dict(hours[0]), hours[1]), Capacity(dict(people))
    steps = _steps_since(min(row.opened_at for row in past))
    return learn(
        miss
        for row in sorted(past, key=lambda each: each.ready_at)
        if (miss := miss_of(row, steps, calendar, capacity)) is not None
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
            Task(station, float(minutes), workloads.waits_by_settings(step, settings)),
            done,
        )
        for number, opened, promised, piece, station, minutes, step, settings, done in rows
    ]


def miss_of(
    past: Past, steps: Sequence[Done], calendar: ShopCalendar, capacity: Capacity
) -> Miss | None:
    """How far a finished ticket missed the forecast of its first minute; None without steps."""
    at = past.opened_at
    routes: dict[int, list[Task]] = defaultdict(list)
    before: list[Waiting] = []
    for step in steps:
        if step.number == past.number:
            routes[step.piece].append(step.task)
        elif step.opened_at < at and (step.done_at is None or step.done_at > at):
            before.append(Waiting(step.number, step.promised_at, (step.task,)))
    if not routes:
        return None
    ahead = Queue(before, capacity).ahead(past.promised_at)
    every = list(routes.values())
    found = forecast(every, at, calendar, capacity, ahead, workloads.round_minutes())
    late = calendar.open_minutes(found.at, past.ready_at)
    early = calendar.open_minutes(past.ready_at, found.at)
    return Miss(way_of(every), late - early, found.path)
