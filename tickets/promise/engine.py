"""The forward pass: when will these pieces be ready, given what stands before them?

Each station is a queue that works through all that stands before the ticket, from now on and with
all its people and machines. A piece starts there when it has come and the queue is through,
whichever is later. So a step's end is built from sums, divisions by capacity, the later of two
moments and opening hours, and nothing else: each can only fall when people, machines or opening
time are added. (A schedule played out event by event has no such law: it may end later with more
hands. Graham 1969, "Bounds on multiprocessing timing anomalies", from memory.)

The crew works by promise, so what stands before a ticket is what is due by its own promise. The
promise is the least moment that holds with that work before it, and that leaves room for every
later promise of the queue: quick work slips in where there is room, and not before a promise that
has none left. Since more work ahead never gives an earlier moment, and more capacity never a later
one, the least such moment falls with capacity too (Knaster and Tarski's fixed point).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

from tickets.promise.capacity import Capacity, Hours
from tickets.promise.margin import Margin, way_of
from tickets.promise.queue import Queue
from tickets.promise.tasks import Task


class Visit(NamedTuple):
    """One task on its way: when the piece comes to its station, and when its work there begins."""

    comes: datetime
    begins: datetime


@dataclass(frozen=True)
class Forecast:
    """``at``: when the last piece is expected. ``path``: open minutes of queue and work on the
    way there, which the margin grows with. ``hangs_on``: the station that costs most on the way
    of the last piece; ``full_until``: when the queue before it is through (None: no queue).
    ``each``: when each piece is expected, in the order of the routes; ``back``: when the last one
    is back from its partner (None: it goes to none). ``visits``: of each route, its tasks."""

    at: datetime
    path: float
    hangs_on: str = ""
    full_until: datetime | None = None
    each: tuple[datetime, ...] = ()
    back: datetime | None = None
    visits: tuple[tuple[Visit, ...], ...] = ()


@dataclass(frozen=True)
class ForecastPromise:
    """A promise and the forecast it stands on."""

    at: datetime
    forecast: Forecast


def forecast_promise(
    routes: Sequence[Sequence[Task]],
    now: datetime,
    hours: Hours,
    queue: Queue,
    margin: Margin,
    round_minutes: float = 0.0,
) -> ForecastPromise:
    """The earliest honest promise for a ticket whose pieces have these routes.

    Never before a promise that its work would endanger. ``round_minutes``: what the crew's round
    may cost at each station, in a shop that has not learned it yet.

    Each turn can only bring work in, and so a later promise; it ends after at most one turn for
    each piece of the queue.
    """
    way, rounds = way_of(routes), round_minutes * _most_stations(routes)
    last = queue.in_need(station_minutes(routes, queue.capacity), now, hours)
    due_by = None if last is None else _half_hour(last, hours)
    while True:
        ahead = {} if due_by is None else queue.ahead(due_by)
        outcome = forecast(routes, now, hours, queue.capacity, ahead)
        more = margin.minutes(way, outcome.path, rounds)
        due = _half_hour(hours.add_minutes(outcome.at, more) if more else outcome.at, hours)
        if due_by is not None and due <= due_by:
            return ForecastPromise(due_by, outcome)
        due_by = due


def forecast(
    routes: Sequence[Sequence[Task]],
    now: datetime,
    hours: Hours,
    capacity: Capacity,
    ahead: Mapping[str, float],
    round_minutes: float = 0.0,
    starts: Sequence[datetime] = (),
) -> Forecast:
    """Expected ready time of a ticket whose pieces have these routes.

    ``ahead``: open minutes of work before it at each station, and pieces before it for each kind
    of drying place. ``round_minutes``: open minutes a piece lies at each station until the crew's
    next round. The ticket's own pieces share the
    stations too, so each of its steps ends with the last of its pieces. ``starts``: for each
    route, when its piece can go on (it is in a drum, on a rail, with a partner); none: now.
    """
    free = {
        station: capacity.done(station, now, minutes, hours)
        for station, minutes in ahead.items()
        if station not in capacity.places
    }
    together = station_minutes(routes, capacity)
    free |= _places_free(routes, now, capacity, ahead, together)
    latest, path, blame, returns = now, 0.0, "", None
    full: list[datetime] = []
    ready_times: list[datetime] = []
    visits: list[tuple[Visit, ...]] = []
    for number, route in enumerate(routes):
        start = starts[number] if starts else now
        ready, work, costs, back, seen = _pass_through(
            route, start, hours, capacity, free, together, round_minutes
        )
        ready_times.append(ready)
        visits.append(tuple(seen))
        stands = max((ahead.get(task.station, 0.0) for task in route), default=0.0)
        path = max(path, stands + work)
        if ready > latest:
            latest, returns = ready, back
            blame = max(sorted(costs), key=lambda station: costs[station], default="")
            full = [free[name] for name in (blame, *_places_at(blame, route)) if name in free]
    return Forecast(
        latest, path, blame, max(full, default=None), tuple(ready_times), returns, tuple(visits)
    )


def _places_free(
    routes: Sequence[Sequence[Task]],
    now: datetime,
    capacity: Capacity,
    ahead: Mapping[str, float],
    together: Mapping[str, float],
) -> dict[str, datetime]:
    """When the last of these pieces finds a drying place, by kind."""
    longest: dict[str, float] = {}
    for task in (task for route in routes for task in route if task.place in capacity.places):
        longest[task.place] = max(task.waits, longest.get(task.place, 0.0))
    return {
        kind: capacity.place_free(kind, ahead.get(kind, 0.0) + together[kind] - 1, minutes, now)
        for kind, minutes in longest.items()
    }


def _places_at(station: str, route: Sequence[Task]) -> Iterator[str]:
    return (task.place for task in route if task.station == station and task.place)


def station_minutes(routes: Sequence[Sequence[Task]], capacity: Capacity) -> dict[str, float]:
    """Open minutes in which each station can do these pieces' tasks, whatever their order, and
    how many of them need each kind of drying place that can run out."""
    crew: dict[str, list[float]] = defaultdict(list)
    machine: dict[str, list[float]] = defaultdict(list)
    for route in routes:
        for task in route:
            crew[task.station].append(task.crew)
            machine[task.station].append(task.machine)
            if task.place in capacity.places:
                crew[task.place].append(1.0)
    return {
        station: capacity.minutes(station, math.fsum(minutes), math.fsum(machine[station]))
        for station, minutes in crew.items()
    }


def _pass_through(
    route: Sequence[Task],
    now: datetime,
    hours: Hours,
    capacity: Capacity,
    free: Mapping[str, datetime],
    together: Mapping[str, float],
    round_minutes: float,
) -> tuple[datetime, float, dict[str, float], datetime | None, list[Visit]]:
    """When one piece is through its route, its open minutes of work, the clock minutes that each
    station costs it, when it is back from its partner, and its visits on the way."""
    visits: list[Visit] = []
    moment, work, back = now, 0.0, None
    costs: dict[str, float] = defaultdict(float)
    whole: dict[str, datetime] = {}
    for place, task in enumerate(route):
        station, before, lies, team = task.station, moment, 0.0, 0.0
        later = math.fsum(more.crew for more in route[place + 1 :] if more.station == station)
        if first := station not in costs:
            moment = max(moment, free.get(station, moment))
            lies, team = round_minutes, together[station] - later / capacity.pace(station)
        if task.place in capacity.places:
            moment = max(moment, free[task.place])
        visits.append(Visit(before, moment))
        if first and later:
            whole[station] = capacity.own_done(station, moment, lies, 0, together[station], hours)
        work += lies + max(task.crew / capacity.pace(station), team)
        done = capacity.own_done(station, moment, lies, task.crew, max(0.0, team), hours)
        if station in whole and not later:
            done = max(done, whole[station])
        returns = hours.back(task.partner, done) if task.partner else None
        back = returns or back
        moment = returns or done + timedelta(minutes=task.waits)
        costs[station] += (moment - before).total_seconds() / 60
    return moment, work, costs, back, visits


def _most_stations(routes: Sequence[Sequence[Task]]) -> int:
    return max((len({task.station for task in route}) for route in routes), default=0)


def _half_hour(moment: datetime, hours: Hours) -> datetime:
    """The next full or half hour when the shop is open, closing time included: what a person at
    the counter says aloud. "By closing time" costs no customer the night that follows."""
    seconds = math.ceil(moment.timestamp() / 1800) * 1800
    spoken = datetime.fromtimestamp(seconds, tz=moment.tzinfo)
    return spoken if hours.is_open(spoken) else hours.next_open(spoken)
