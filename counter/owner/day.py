"""How one day went: pieces in and out, promises kept, redos, times, takings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import Count, Sum
from django.utils.translation import gettext as _

from counter.models import TicketLine
from counter.money.queries import Takings, day_takings
from counter.owner.queries import DayMoves, due_on, finished_moves, racked_on, right_first_time
from counter.owner.rate import Rate, mean, percentile
from tickets.choices import Station
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
    day: date
    stations: Sequence[StationDay]
    finished: int
    on_time: OnTime
    redo: Rate
    sent_back: Sequence[SentBack]
    first_pass: Rate
    turnaround_median: timedelta | None
    turnaround_90: timedelta | None
    turnaround_count: int
    takings: Takings
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


def day_figures(day: date, now: datetime) -> DayFigures:
    """Everything that happened on a business day, in a fixed number of queries."""
    moves = DayMoves.read(day)
    back = moves.sent_back()
    inspected = moves.inspected()
    right = right_first_time(inspected)
    took = turnarounds(day)
    booked = TicketLine.objects.filter(ticket__business_day=day).aggregate(
        sum=Sum("amount"), tickets=Count("ticket", distinct=True)
    )
    chart, piece_times = finished_by_day(day)
    return DayFigures(
        day=day,
        stations=_stations(moves, _hours_open(day, now)),
        finished=chart[-1][1],
        on_time=_on_time(day, now),
        redo=Rate(len({piece for piece, _station, _reason in back}), len(moves.processed())),
        sent_back=_by_reason(back),
        first_pass=Rate(len(right), len(inspected)),
        turnaround_median=percentile(took, 0.5),
        turnaround_90=percentile(took, 0.9),
        turnaround_count=len(took),
        takings=day_takings(day),
        booked=booked["sum"] or Decimal(0),
        booked_count=booked["tickets"],
        chart=chart,
        piece_times=piece_times,
    )


def turnarounds(day: date) -> list[timedelta]:
    """Racked time minus intake time of the tickets fully racked on a day."""
    rows = racked_on(day).values_list("ready_at", "opened_at")
    return [ready - opened for ready, opened in rows if ready is not None]


def finished_by_day(day: date) -> tuple[list[tuple[date, int]], list[timedelta]]:
    """Pieces finished on each of the 14 days up to a day, and how long each of them took."""
    first = day - (CHART_DAYS - 1) * _DAY
    seen: dict[tuple[date, int], timedelta] = {}
    rows = finished_moves(first, day).values_list(
        "business_day", "piece_id", "at", "piece__ticket__opened_at"
    )
    for on, piece, at, opened in rows.order_by("at"):
        seen.setdefault((on, piece), at - opened)
    counts = Counter(on for on, _piece in seen)
    days = [first + ahead * _DAY for ahead in range(CHART_DAYS)]
    return [(on, counts[on]) for on in days], list(seen.values())


def _on_time(day: date, now: datetime) -> OnTime:
    rows = list(due_on(day).values_list("promised_at", "ready_at"))
    kept = sum(1 for promised, ready in rows if ready is not None and ready <= promised)
    to_come = sum(1 for promised, ready in rows if ready is None and promised >= now)
    return OnTime(Rate(kept, len(rows)), to_come)


def _stations(moves: DayMoves, hours: float) -> list[StationDay]:
    came, left = moves.through_stations()
    return [StationDay(station, came[station], left[station], hours) for station in Station]


def _by_reason(back: Sequence[tuple[int, str, str]]) -> list[SentBack]:
    counts = Counter((station, reason) for _piece, station, reason in back)
    return [
        SentBack(Station(station), reason, count)
        for (station, reason), count in sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    ]


def _hours_open(day: date, now: datetime) -> float:
    """Hours the shop has been open on a day so far."""
    window = read_calendar().opening(day)
    if window is None:
        return 0.0
    until = min(window[1], now)
    return max((until - window[0]).total_seconds() / 3600, 0.0)


def in_hours(time: timedelta | None) -> str:
    """A time in words: “5 h” below two days, “3.5 days” above."""
    if time is None:
        return ""
    hours = time.total_seconds() / 3600
    if hours < 48:
        return _("%(hours).1f h") % {"hours": hours}
    return _("%(days).1f days") % {"days": hours / 24}
