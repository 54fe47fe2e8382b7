"""The promise of this shop, for who opens a ticket: the queue, the margin, and what a rush costs.

``earliest_ready`` says when a ticket can honestly be ready and what that hangs on; ``rush_cost``
which open tickets would no longer be ready by their promise if it went first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from tickets.promise import history, queries, wording
from tickets.promise.due import begin_by
from tickets.promise.engine import forecast_promise
from tickets.promise.expected import Outlook
from tickets.promise.margin import Margin
from tickets.promise.queue import OpenPiece, Queue, Waiting
from tickets.promise.rush import made_late
from tickets.promise.tasks import ASSEMBLY, Task
from tickets.shop import minutes as workloads
from tickets.shop.calendar import ShopCalendar
from tickets.shop.queries import read_calendar


@dataclass(frozen=True)
class Promise:
    """``ready_at`` is in UTC; ``hangs_on`` is the station that costs most on the way."""

    ready_at: datetime
    hangs_on: str
    reason: str


@dataclass(frozen=True)
class Backlog:
    """What a promise is made against: the queue with the shop's capacity, and the margin."""

    queue: Queue
    margin: Margin


def queued_minutes(
    now: datetime | None = None,
    *,
    only_rush: bool = False,
    calendar: ShopCalendar | None = None,
) -> Backlog:
    """All open work of the shop, and the margin its past tickets have taught.

    ``only_rush`` leaves out what rush work does not wait for: ordinary pieces that need not begin
    yet. Costs the same number of queries whatever waits, fewer where the ``calendar`` comes along.
    """
    now = now or timezone.now()
    capacity, calendar = queries.shop_capacity(now), calendar or read_calendar()
    pieces = [
        piece
        for piece in queries.open_pieces(now)
        if not only_rush or piece.ticket.rush or _begins_now(piece, now, calendar)
    ]
    margin = history.learned_margin(calendar, capacity)
    return Backlog(Queue(map(_waiting, pieces), capacity), margin)


def earliest_ready(
    routes: Iterable[Sequence[Task]],
    now: datetime,
    calendar: ShopCalendar,
    queued: Backlog,
) -> Promise:
    """Earliest honest ready time of a ticket whose pieces have these routes.

    After the day's cut-off it counts from the next working day.
    """
    begins = calendar.counts_from(now)
    quoted = forecast_promise(
        [(*route, ASSEMBLY) for route in routes],
        begins,
        calendar,
        queued.queue,
        queued.margin,
        workloads.round_minutes(),
    )
    reason = wording.promise_reason(quoted.forecast, now, begins)
    return Promise(quoted.at, quoted.forecast.hangs_on, reason)


def rush_cost(routes: Iterable[Sequence[Task]], now: datetime, calendar: ShopCalendar) -> list[int]:
    """Numbers of the open tickets that would miss their promise if these pieces went first."""
    outlook = Outlook(
        now,
        queries.open_pieces(now),
        calendar,
        queries.shop_capacity(now),
        workloads.round_minutes(),
    )
    return made_late(outlook, routes)


def _waiting(piece: OpenPiece) -> Waiting:
    """The table takes each ticket when it is whole, so matching stands in no queue."""
    tasks = tuple(step.task for step in piece.steps_left)
    return Waiting(piece.ticket.number, piece.promised_at, tasks)


def _begins_now(piece: OpenPiece, now: datetime, calendar: ShopCalendar) -> bool:
    """What is on hold waits for an answer, and so stands in nobody's way."""
    return not piece.held and begin_by(piece.tasks, piece.promised_at, calendar) <= now
