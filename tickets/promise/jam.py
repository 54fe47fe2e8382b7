"""What a day to come can't get through: work that is at a station by its closing and that today
leaves over, against the people, drums and drying places of that day.

The pieces move by the engine that makes the promises, so that work behind a run, a rail or a
partner's days counts on the day on which it comes. What comes late today finds little of the day
left, however long the crew stood idle before: it is carried over, as the plan of the day has it.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple

from tickets.choices import WORK_STATIONS, Station
from tickets.promise.engine import station_minutes
from tickets.promise.expected import Outlook
from tickets.promise.queue import Turn
from tickets.promise.tasks import Task
from tickets.shop.calendar import ShopCalendar, business_day

BUSY = 0.9
"""Above this share of its minutes a queue grows quickly (queueing theory; from memory)."""

_LONGEST_LOOK = 60


@dataclass(frozen=True)
class StationLoad:
    """Crew minutes of one station: those that come to it by closing of the next open day, those of
    them that it can't do today, and those of its crew on that day. What the drums take counts as
    the crew minutes that pass meanwhile. ``no_place``: a piece finds no drying place before that
    closing. ``pieces``: crew minutes by the key of the piece."""

    station: Station
    queued: float
    carried: float
    tomorrow: float
    no_place: bool = False
    pieces: Mapping[int, float] = field(default_factory=dict)

    @property
    def share(self) -> float | None:
        """Carried minutes as a share of the next open day; None when nobody works there then."""
        return self.carried / self.tomorrow if self.tomorrow else None

    @property
    def percent(self) -> float | None:
        return None if self.share is None else 100 * self.share

    @property
    def jammed(self) -> bool:
        full = self.share > BUSY if self.share is not None else self.carried > 0
        return full or self.no_place


class _Coming(NamedTuple):
    """A task with the moment at which its piece comes to the station, and its piece's key."""

    at: datetime
    turn: Turn
    task: Task
    piece: int


def next_open_day(today: date, calendar: ShopCalendar) -> date | None:
    """The next day after today on which the shop is open."""
    later = (today + timedelta(days=ahead) for ahead in range(1, _LONGEST_LOOK))
    return next((day for day in later if calendar.opening(day)), None)


@lru_cache(maxsize=2)
def station_loads(outlook: Outlook, day: date) -> tuple[StationLoad, ...]:
    """Each station's work that is there by the closing of a later open day. No queries, and
    reckoned once for an outlook."""
    calendar, capacity = outlook.calendar, outlook.capacity
    window = calendar.opening(day)
    if window is None:
        raise ValueError(f"{day} is a closed day; name an open one")
    opens, closes = window
    coming, no_place = _coming_by(closes, outlook)
    there, day_crew = calendar.open_minutes(opens, closes), capacity.crew_at(opens)
    loads = []
    for station in WORK_STATIONS:
        line = sorted(coming[station], key=lambda step: (step.at, step.turn))
        people = capacity.people.get(station, 1.0)
        queued = people * station_minutes([[step.task for step in line]], capacity).get(station, 0)
        if queued:
            pieces: dict[int, float] = defaultdict(float)
            for step in line:
                pieces[step.piece] += step.task.crew
            loads.append(
                StationLoad(
                    station,
                    queued,
                    _carried(station, line, outlook),
                    there * day_crew.get(station, 1.0),
                    station in no_place,
                    pieces,
                )
            )
    return tuple(loads)


def _coming_by(closes: datetime, outlook: Outlook) -> tuple[dict[str, list[_Coming]], set[str]]:
    """The work that comes to each station by then, and the stations at which a piece waits for a
    drying place longer than that."""
    coming, no_place = defaultdict[str, list[_Coming]](list), set[str]()
    for case in outlook.cases.values():
        ahead = outlook.before(case).minutes(outlook.capacity)
        forecast = outlook.ready(case, ahead, rounds=False)
        for piece, piece_turns, visits in zip(
            case.pieces, case.turns, forecast.visits, strict=True
        ):
            if piece.held:
                continue
            for task, turn, visit in zip(piece.tasks, piece_turns, visits, strict=True):
                if visit.comes >= closes:
                    break
                coming[task.station].append(_Coming(visit.comes, turn, task, piece.pk))
                if task.place and visit.begins >= closes:
                    no_place.add(task.station)
    return coming, no_place


def _carried(station: Station, line: Sequence[_Coming], outlook: Outlook) -> float:
    """Crew minutes of a station's line, by the moment of coming, that are not done by today's
    closing: nobody works on what is not there yet, and a drum has to be out by then."""
    calendar, capacity, now = outlook.calendar, outlook.capacity, outlook.now
    window = calendar.opening(business_day(now))
    closes = max(window[1], now) if window else now
    people, drums = capacity.people.get(station, 1.0), capacity.machines.get(station)
    crew = _Shift(calendar, now, capacity.crew_at(now).get(station, 1.0))
    runs = _Shift(calendar, now, drums or math.inf)
    for step in line:
        run = step.task.waits if step.task.machine else 0.0
        crew.take(step.at, step.task.crew, closes - timedelta(minutes=run))
        runs.take(step.at, step.task.machine, closes)
    return max(crew.left, runs.left * people / drums if drums else 0.0)


class _Shift:
    """The rest of today at one station: work is taken as it comes, and ``left`` is what of it does
    not fit. ``pace``: work done in an open minute."""

    def __init__(self, calendar: ShopCalendar, now: datetime, pace: float) -> None:
        self._calendar, self._free, self._pace = calendar, now, pace
        self.left = 0.0

    def take(self, comes: datetime, work: float, until: datetime) -> None:
        """Do as much of it as can be done until then."""
        begins = max(self._free, comes)
        able = self._calendar.open_minutes(begins, until) * self._pace if begins < until else 0.0
        if able <= 0:
            self.left += work
            return
        done = min(work, able)
        self.left += work - done
        self._free = self._calendar.add_minutes(begins, done / self._pace)
