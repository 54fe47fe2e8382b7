"""The promise: when can these pieces honestly be ready?

Each station is a queue. A piece waits for the work already queued there (crew minutes divided by
the people of the station, in opening hours) and for the crew's next round, then takes its own
minutes and any drying or partner time. The slowest piece of the ticket decides; a fifth is added,
and the moment is rounded up to the next full hour when the shop is open.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Sum
from django.utils.translation import gettext as _

from tickets import workloads
from tickets.calendar import ShopCalendar
from tickets.choices import CLOSED_STATES, Station
from tickets.models import RouteStep, StationCrew

SLACK = 1.2
ASSEMBLY_MINUTES = 10.0


@dataclass(frozen=True)
class PlannedStep:
    station: str
    crew: float
    waits: float = 0.0


@dataclass(frozen=True)
class Promise:
    """``ready_at`` is in UTC; ``hangs_on`` is the station whose queue costs most."""

    ready_at: datetime
    hangs_on: str
    reason: str


def queued_minutes(*, only_rush: bool = False) -> dict[str, float]:
    """Crew minutes of all open steps at each station, divided by its people.

    ``only_rush`` leaves out ordinary tickets, which rush work does not wait for.
    """
    people = {row.station: float(row.people) for row in StationCrew.objects.all()}
    rows = (
        RouteStep.objects.filter(done_at__isnull=True)
        .exclude(piece__state__in=CLOSED_STATES)
        .values_list("station")
        .annotate(total=Sum("minutes"))
        .order_by("station")
    )
    if only_rush:
        rows = rows.filter(piece__ticket__rush=True)
    return {station: float(total) / people.get(station, 1.0) for station, total in rows}


def earliest_ready(
    routes: Iterable[Sequence[PlannedStep]],
    now: datetime,
    calendar: ShopCalendar,
    queued: dict[str, float],
) -> Promise:
    """Earliest honest ready time of a ticket whose pieces have these routes."""
    latest, blame = now, ""
    for route in routes:
        moment, costs = now, dict[str, float]()
        queue_paid: set[str] = set()
        for step in route:
            wait = 0.0
            if step.station not in queue_paid:
                wait = queued.get(step.station, 0.0) + workloads.round_minutes()
                queue_paid.add(step.station)
            costs[step.station] = costs.get(step.station, 0.0) + wait + step.crew + step.waits
            moment = calendar.add_minutes(moment, wait + step.crew)
            moment += timedelta(minutes=step.waits)
        if moment > latest:
            latest = moment
            blame = max(costs, key=lambda station: costs[station]) if costs else ""
    latest = calendar.add_minutes(latest, ASSEMBLY_MINUTES)
    slack = calendar.open_minutes(now, latest) * (SLACK - 1)
    ready = _full_hour(calendar.add_minutes(latest, slack), calendar)
    reason = (
        _("Most of the time goes to: %(station)s.") % {"station": Station(blame).label}
        if blame
        else ""
    )
    return Promise(ready, blame, reason)


def _full_hour(moment: datetime, calendar: ShopCalendar) -> datetime:
    seconds = math.ceil(moment.timestamp() / 3600) * 3600
    return calendar.next_open(datetime.fromtimestamp(seconds, tz=moment.tzinfo))
