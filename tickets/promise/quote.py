"""The promise of this shop: reads crew, machines, queue and history, and asks ``promising``.

``earliest_ready`` says when a ticket can honestly be ready and what that hangs on; ``rush_cost``
which open tickets would no longer be ready by their promise if it went first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from tickets.choices import CLOSED_STATES, Station
from tickets.models import RouteStep
from tickets.promise import history
from tickets.promise.engine import Forecast, quote
from tickets.promise.margin import Margin
from tickets.promise.queries import shop_capacity
from tickets.promise.queue import Queue, Waiting
from tickets.promise.rush import made_late
from tickets.promise.tasks import ASSEMBLY, Task, task_of
from tickets.shop import minutes as workloads
from tickets.shop.calendar import ShopCalendar, business_day
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


def queued_minutes(now: datetime | None = None, *, only_rush: bool = False) -> Backlog:
    """All open work of the shop, and the margin its past tickets have taught.

    ``only_rush`` leaves out ordinary tickets, which rush work does not wait for. Costs the same
    number of queries whatever waits.
    """
    capacity, calendar = shop_capacity(now), read_calendar()
    steps = _open_steps()
    if only_rush:
        steps = steps.filter(piece__ticket__rush=True)
    return Backlog(Queue(_waiting(steps), capacity), history.learned_margin(calendar, capacity))


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
    found = quote(
        [(*route, ASSEMBLY) for route in routes],
        begins,
        calendar,
        queued.queue,
        queued.margin,
        workloads.round_minutes(),
    )
    reason = _reason(found.forecast, now)
    if begins > now:
        reason = f"{_cut_off_words(begins)} {reason}".strip()
    return Promise(found.at, found.forecast.hangs_on, reason)


def rush_cost(routes: Iterable[Sequence[Task]], now: datetime, calendar: ShopCalendar) -> list[int]:
    """Numbers of the open tickets that would miss their promise if these pieces went first."""
    steps = _open_steps().filter(piece__ticket__rush=False, piece__ticket__ready_at__isnull=True)
    return made_late(list(routes), _waiting(steps), now, calendar, shop_capacity(now))


def _open_steps() -> Any:
    return RouteStep.objects.filter(done_at__isnull=True).exclude(piece__state__in=CLOSED_STATES)


def _waiting(steps: Any) -> list[Waiting]:
    rows = steps.order_by("piece_id", "order").values_list(
        "piece_id",
        "piece__ticket__number",
        "piece__promised_at",
        "piece__weight_g",
        "station",
        "step",
        "minutes",
        "settings",
    )
    tasks: dict[tuple[int, int, datetime], list[Task]] = defaultdict(list)
    for piece, number, due, grams, station, step, minutes, settings in rows:
        tasks[piece, number, due].append(task_of(station, step, minutes, settings, grams))
    return [Waiting(number, due, tuple(every)) for (_pk, number, due), every in tasks.items()]


def _cut_off_words(begins: datetime) -> str:
    day = date_format(timezone.localtime(begins), "l j F")
    return _("Work of the day is closed; it counts from %(day)s.") % {"day": day}


def _reason(expected: Forecast, now: datetime) -> str:
    if not expected.hangs_on:
        return ""
    station = Station(expected.hangs_on).label
    if expected.hangs_on == Station.SEND_OUT and expected.back is not None:
        return _("Most of the time goes to: %(station)s, back from the partner on %(day)s.") % {
            "station": station,
            "day": _day_words(expected.back, now),
        }
    if expected.full_until is None or expected.full_until - now < timedelta(hours=1):
        return _("Most of the time goes to: %(station)s.") % {"station": station}
    today = business_day(expected.full_until) == business_day(now)
    until = date_format(timezone.localtime(expected.full_until), "H:i" if today else "l j F")
    return _("Full until %(until)s: %(station)s.") % {"until": until, "station": station}


def _day_words(at: datetime, now: datetime) -> str:
    """The weekday, with the date where another such day comes before it."""
    near = business_day(at) - business_day(now) < timedelta(days=7)
    return date_format(timezone.localtime(at), "l" if near else "l j F")
