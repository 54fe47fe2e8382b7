"""What a day to come can't get through: work that is at a station by its closing, against the
people, drums and drying places that are there until then.

The pieces move by the engine that makes the promises, so that work behind a run, a rail or a
partner's days counts on the day on which it comes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from tickets.choices import WORK_STATIONS, Station
from tickets.promise.expected import Outlook, WorkAhead
from tickets.shop.calendar import ShopCalendar, business_day

BUSY = 0.9
"""Above this share of its minutes a queue grows quickly (queueing theory; from memory)."""

_LONGEST_LOOK = 60


@dataclass(frozen=True)
class StationLoad:
    """Crew minutes of one station: those at it by closing of the next open day, those left today,
    and those there on that day. ``queued`` counts what the drums take as the crew minutes that
    pass meanwhile. ``no_place``: a piece finds no drying place before that closing. ``pieces``:
    crew minutes by the key of the piece."""

    station: Station
    queued: float
    left_today: float
    tomorrow: float
    no_place: bool = False
    pieces: Mapping[int, float] = field(default_factory=dict)

    @property
    def carried(self) -> float:
        """Minutes that today's crew can't do any more."""
        return max(self.queued - self.left_today, 0.0)

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


def next_open_day(today: date, calendar: ShopCalendar) -> date | None:
    """The next day after today on which the shop is open."""
    later = (today + timedelta(days=ahead) for ahead in range(1, _LONGEST_LOOK))
    return next((day for day in later if calendar.opening(day)), None)


def station_loads(outlook: Outlook, day: date) -> list[StationLoad]:
    """Each station's work that is there by the closing of a later open day. No queries."""
    calendar, capacity, now = outlook.calendar, outlook.capacity, outlook.now
    window = calendar.opening(day)
    if window is None:
        raise ValueError(f"{day} is a closed day; name an open one")
    opens, closes = window
    work, pieces, no_place = _there_by(closes, outlook)
    today_crew, day_crew = capacity.crew_at(now), capacity.crew_at(opens)
    left, there = _minutes_left(calendar, now), calendar.open_minutes(opens, closes)
    loads = []
    for station in WORK_STATIONS:
        minutes = capacity.minutes(station, work.crew[station], work.machine[station])
        if queued := minutes * capacity.people.get(station, 1.0):
            loads.append(
                StationLoad(
                    station,
                    queued,
                    left * today_crew.get(station, 1.0),
                    there * day_crew.get(station, 1.0),
                    station in no_place,
                    pieces[station],
                )
            )
    return loads


def _there_by(
    closes: datetime, outlook: Outlook
) -> tuple[WorkAhead, dict[str, dict[int, float]], set[str]]:
    """The work that has come to each station by then, the crew minutes of its pieces, and the
    stations at which a piece waits for a drying place longer than that."""
    work, no_place = WorkAhead(), set[str]()
    pieces: dict[str, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    for case in outlook.cases.values():
        ahead = outlook.before(case).minutes(outlook.capacity)
        forecast = outlook.ready(case, ahead, rounds=False)
        for piece, visits in zip(case.pieces, forecast.visits, strict=True):
            if piece.held:
                continue
            for task, visit in zip(piece.tasks, visits, strict=True):
                if visit.comes >= closes:
                    break
                work.add(task.station, task.crew, task.machine)
                pieces[task.station][piece.pk] += task.crew
                if task.place and visit.begins >= closes:
                    no_place.add(task.station)
    return work, pieces, no_place


def _minutes_left(calendar: ShopCalendar, now: datetime) -> float:
    """Minutes of work of today from now on, breaks left out."""
    window = calendar.opening(business_day(now))
    return calendar.open_minutes(max(window[0], now), window[1]) if window else 0.0
