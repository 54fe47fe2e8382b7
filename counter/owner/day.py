"""How one day went: pieces in and out, promises kept, redos, times, takings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from counter.models import Payment
from counter.money.queries import Takings, payments_by_day, takings_of
from counter.owner.bar_charts import DayTaken
from counter.owner.promise_line import Standing, promises_of
from counter.owner.queries import (
    DayMoves,
    booked_on,
    due_on,
    finished_times,
    racked_times,
    right_first_time,
)
from counter.owner.rate import Rate, mean, percentile
from tickets.choices import Station
from tickets.models import Ticket
from tickets.shop.calendar import ShopCalendar
from tickets.shop.queries import read_calendar

CHART_DAYS = 14
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class StationDay:
    """Pieces that came to a station and left it; a piece that passes twice counts twice."""

    station: Station
    came: int
    left: int
    hours: float

    @property
    def per_hour(self) -> float | None:
        return self.left / self.hours if self.hours else None


@dataclass(frozen=True)
class SentBack:
    """Pieces sent back to one station for one reason."""

    station: Station
    reason: str
    count: int


@dataclass(frozen=True)
class OnTime:
    """Tickets due on the day: racked by the promise, missed, and not due yet."""

    rate: Rate
    to_come: int

    @property
    def missed(self) -> int:
        return self.rate.whole - self.rate.part - self.to_come

    @property
    def decided(self) -> Rate:
        """Of those kept or missed, the kept ones."""
        return Rate(self.rate.part, self.rate.whole - self.to_come)


@dataclass(frozen=True)
class LittlesLaw:
    """Pieces in process / pieces finished a day, beside the time pieces really took.

    Holds for averages in a steady state only: a check, never a promise.
    """

    in_process: int
    finished_a_day: float
    actual: timedelta | None

    @property
    def expected_days(self) -> float | None:
        return self.in_process / self.finished_a_day if self.finished_a_day else None

    @property
    def actual_days(self) -> float | None:
        return None if self.actual is None else self.actual / _DAY


@dataclass(frozen=True)
class DayFigures:
    """``due``: the tickets promised for the day, by hour. ``taken``: each of the 14 days up to it,
    as ``chart`` has their finished pieces."""

    day: date
    opening: tuple[datetime, datetime] | None
    stations: Sequence[StationDay]
    finished: int
    due: Sequence[Ticket]
    on_time: OnTime
    redo: Rate
    sent_back: Sequence[SentBack]
    first_pass: Rate
    turnaround_median: timedelta | None
    turnaround_90: timedelta | None
    turnaround_count: int
    takings: Takings
    taken: Sequence[DayTaken]
    booked: Decimal
    booked_count: int
    chart: Sequence[tuple[date, int]]
    piece_times: Sequence[timedelta] = field(repr=False, default=())

    @property
    def capacity_lost(self) -> float | None:
        """Percent of extra work that redos cost: 1 / first-pass yield - 1."""
        if not self.first_pass.part:
            return None
        return 100 * (self.first_pass.whole / self.first_pass.part - 1)

    def littles_law(self, in_process: int) -> LittlesLaw:
        finished = sum(count for _day, count in self.chart)
        return LittlesLaw(in_process, finished / CHART_DAYS, mean(self.piece_times))


def day_figures(day: date, now: datetime, calendar: ShopCalendar | None = None) -> DayFigures:
    """Everything that happened on a business day, in a fixed number of queries."""
    calendar = calendar or read_calendar()
    opening, due = calendar.opening(day), list(due_on(day))
    payments = payments_by_day(day - (CHART_DAYS - 1) * _DAY, day)
    moves = DayMoves.read(day)
    back = moves.sent_back()
    inspected = moves.inspected()
    right = right_first_time(inspected)
    took = racked_times(day)
    booked, booked_count = booked_on(day)
    chart, piece_times = finished_by_day(day)
    return DayFigures(
        day=day,
        opening=opening,
        stations=_stations(moves, _hours_open(opening, now)),
        finished=chart[-1][1],
        due=due,
        on_time=_on_time(due, now),
        redo=Rate(len({piece for piece, _station, _reason in back}), len(moves.processed())),
        sent_back=_by_reason(back),
        first_pass=Rate(len(right), len(inspected)),
        turnaround_median=percentile(took, 0.5),
        turnaround_90=percentile(took, 0.9),
        turnaround_count=len(took),
        takings=takings_of(row[1:] for row in payments if row[0] == day),
        taken=[_taken(on, payments, calendar.open_on(on)) for on, _count in chart],
        booked=booked,
        booked_count=booked_count,
        chart=chart,
        piece_times=piece_times,
    )


def finished_by_day(day: date) -> tuple[list[tuple[date, int]], list[timedelta]]:
    """Pieces finished on each of the 14 days up to a day, and how long each of them took."""
    first = day - (CHART_DAYS - 1) * _DAY
    seen: dict[tuple[date, int], timedelta] = {}
    for on, piece, at, opened in finished_times(first, day):
        seen.setdefault((on, piece), at - opened)
    counts = Counter(on for on, _piece in seen)
    days = [first + ahead * _DAY for ahead in range(CHART_DAYS)]
    return [(on, counts[on]) for on in days], list(seen.values())


def _on_time(due: Sequence[Ticket], now: datetime) -> OnTime:
    standings = Counter(promise.standing for promise in promises_of(due, now, ()))
    return OnTime(Rate(standings[Standing.KEPT], len(due)), standings[Standing.COMING])


def _taken(
    day: date, payments: Sequence[tuple[date, str, str, int, Decimal]], is_open: bool
) -> DayTaken:
    sums = {means: Decimal(0) for means in Payment.Means.values}
    for on, kind, means, _count, amount in payments:
        if on == day:
            sums[means] += -amount if kind == Payment.Kind.REFUND else amount
    return DayTaken(day, sums[Payment.Means.CARD], sums[Payment.Means.CASH], is_open)


def _stations(moves: DayMoves, hours: float) -> list[StationDay]:
    came, left = moves.through_stations()
    return [StationDay(station, came[station], left[station], hours) for station in Station]


def _by_reason(back: Sequence[tuple[int, str, str]]) -> list[SentBack]:
    counts = Counter((station, reason) for _piece, station, reason in back)
    return [
        SentBack(Station(station), reason, count)
        for (station, reason), count in sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    ]


def _hours_open(opening: tuple[datetime, datetime] | None, now: datetime) -> float:
    """Hours the shop has been open on a day so far."""
    if opening is None:
        return 0.0
    until = min(opening[1], now)
    return max((until - opening[0]).total_seconds() / 3600, 0.0)
