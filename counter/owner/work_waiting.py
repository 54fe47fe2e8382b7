"""What waits at each station, against the hours that its crew has left of the day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import takewhile

from counter.owner.bar_charts import StationWork
from tickets.choices import WORK_STATIONS
from tickets.promise.expected import Outlook
from tickets.promise.jam import next_open_day
from tickets.promise.queue import OpenPiece
from tickets.shop.calendar import business_day


@dataclass(frozen=True)
class WorkWaiting:
    """``against``: the day whose hours are meant; after closing the next one that is open."""

    against: date
    stations: Sequence[StationWork]

    @property
    def fullest(self) -> StationWork | None:
        """The station with most too much; None where none has."""
        over = [work for work in self.stations if round(work.over)]
        return max(over, key=lambda work: work.over, default=None)


def minutes_here(piece: OpenPiece) -> float:
    """Crew minutes of the work that a piece waits for where it is; 0 while it is in a drum."""
    if piece.under_way:
        return 0.0
    here = takewhile(lambda task: task.station == piece.station, piece.tasks)
    return sum(task.crew for task in here)


def work_waiting(outlook: Outlook) -> WorkWaiting:
    """No queries."""
    calendar, now = outlook.calendar, outlook.now
    against = business_day(now)
    window = calendar.opening(against)
    if window is None or window[1] <= now:
        against = next_open_day(against, calendar) or against
        window = calendar.opening(against)
    assert window is not None  # an outlook is of a shop that opens
    begins, closes = max(window[0], now), window[1]
    minutes, crew = calendar.open_minutes(begins, closes), outlook.capacity.crew_at(begins)
    waiting, held = defaultdict[str, float](float), defaultdict[str, float](float)
    for case in outlook.cases.values():
        for piece in case.pieces:
            (held if piece.held else waiting)[piece.station] += minutes_here(piece)
    return WorkWaiting(
        against,
        [
            StationWork(station, waiting[station], held[station], minutes * crew.get(station, 1.0))
            for station in WORK_STATIONS
        ],
    )
