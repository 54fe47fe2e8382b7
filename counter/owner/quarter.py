"""How ninety days went, week by week: pieces, promises kept, turnaround, redos, takings."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from counter.owner import queries
from counter.owner.bar_charts import WeekPoint
from counter.owner.rate import Rate, percentile
from tickets.shop.calendar import start_of

DAYS = 90
WEEKS = 13
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class WeekFigures:
    """A calendar week from Monday, or the part of it that lies within the ninety days.

    ``finished`` counts a piece once on each day it was racked, ``redo`` pieces sent back among
    those worked on, day by day, as the page of a day does. ``turnaround`` is that of the middle
    ticket of those fully racked in the week; None where there was none.
    """

    first: date
    last: date
    finished: int
    on_time: Rate
    to_come: int
    turnaround: timedelta | None
    racked: int
    redo: Rate
    takings: Decimal

    @property
    def missed(self) -> int:
        return self.on_time.whole - self.on_time.part - self.to_come

    @property
    def decided(self) -> Rate:
        """Of those kept or missed, the kept ones."""
        return Rate(self.on_time.part, self.on_time.whole - self.to_come)

    @property
    def point(self) -> WeekPoint:
        return WeekPoint(self.first, self.finished, None if self.to_come else self.decided.percent)


@dataclass(frozen=True)
class QuarterFigures:
    """``whole`` has the figures of all ninety days, in the shape of a week."""

    weeks: Sequence[WeekFigures]
    whole: WeekFigures


def quarter_figures(last: date, now: datetime) -> QuarterFigures:
    """The ninety days up to a day: five queries, whose rows are days and tickets."""
    first = last - (DAYS - 1) * _DAY
    spans = _weeks(first, last)
    counts = queries.pieces_by_day(first, last)
    promises = queries.promises_by_day(first, last, now)
    racked = queries.racked_in(start_of(first), start_of(last + _DAY))
    moments = [ready for ready, _opened in racked]
    takings = queries.takings_by_day(first, last)

    def figures(begins: date, ends: date) -> WeekFigures:
        pieces = [row[1:] for row in counts if begins <= row[0] <= ends]
        due = [row[1:] for row in promises if begins <= row[0] <= ends]
        opens, closes = (
            start_of(day).astimezone(UTC).replace(tzinfo=None) for day in (begins, ends + _DAY)
        )
        span = slice(bisect_left(moments, opens), bisect_left(moments, closes))
        took = [ready - opened for ready, opened in racked[span]]
        return WeekFigures(
            first=begins,
            last=ends,
            finished=sum(row[0] for row in pieces),
            on_time=Rate(sum(row[1] for row in due), sum(row[0] for row in due)),
            to_come=sum(row[2] for row in due),
            turnaround=percentile(took, 0.5),
            racked=len(took),
            redo=Rate(sum(row[1] for row in pieces), sum(row[2] for row in pieces)),
            takings=sum((money for day, money in takings if begins <= day <= ends), Decimal(0)),
        )

    return QuarterFigures([figures(*span) for span in spans], figures(first, last))


def thirteen_weeks(day: date, now: datetime) -> list[WeekPoint]:
    """The calendar weeks up to a day, the last as far as it: three queries, whose rows are days."""
    first = day - timedelta(days=day.weekday(), weeks=WEEKS - 1)
    counts = queries.pieces_by_day(first, day)
    promises = queries.promises_by_day(first, day, now)
    points = []
    for begins, ends in _weeks(first, day):
        due = [row[1:] for row in promises if begins <= row[0] <= ends]
        to_come = sum(row[2] for row in due)
        decided = Rate(sum(row[1] for row in due), sum(row[0] for row in due) - to_come)
        finished = sum(row[1] for row in counts if begins <= row[0] <= ends)
        points.append(WeekPoint(begins, finished, None if to_come else decided.percent))
    return points


def _weeks(first: date, last: date) -> list[tuple[date, date]]:
    """The days of each calendar week (ISO 8601: from Monday) within these, both ends included."""
    spans = []
    while first <= last:
        ends = min(first + (6 - first.weekday()) * _DAY, last)
        spans.append((first, ends))
        first = ends + _DAY
    return spans
