"""Charts of the owner's pages as plain numbers. Across, every length is a percentage of the
drawing's width; heights are pixels, so that the words keep their size at any width."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from tickets.choices import Station

ON_TIME_GOAL = 97.0
"""Percent of tickets racked by their promise that the house aims at (a planning figure)."""

_WIDE = 84.0
"""Percent of a drawing that its bars take; the rest holds the words of the axis."""


@dataclass(frozen=True)
class Bar:
    """``x``, ``width`` percent; ``y``, ``height`` px."""

    x: float
    width: float
    y: float
    height: float

    @property
    def middle(self) -> float:
        return self.x + self.width / 2

    @property
    def above(self) -> float:
        return self.y - 7


# Weeks


@dataclass(frozen=True)
class WeekPoint:
    """``on_time`` percent; None while nothing of the week is decided or some is to come."""

    first: date
    finished: int
    on_time: float | None


@dataclass(frozen=True)
class WeekBar:
    point: WeekPoint
    bar: Bar
    named: bool
    counted: bool


@dataclass(frozen=True)
class WeekChart:
    """``lines``: the share on time, as points of drawings 100 wide, broken where there is none.
    ``last``: place of the last known share, and the share."""

    bars: Sequence[WeekBar]
    lines: Sequence[str]
    last: tuple[float, float, float] | None
    goal: float = ON_TIME_GOAL
    wide: float = _WIDE
    base: int = 200
    height: int = 230

    @property
    def goal_y(self) -> float:
        return _share_y(self.goal, self.bars)

    @property
    def is_empty(self) -> bool:
        return not any(week.point.finished for week in self.bars)


def week_chart(points: Sequence[WeekPoint]) -> WeekChart:
    """One bar for each week as high as what was finished, and over them the share on time."""
    highest = max((point.finished for point in points), default=0)
    pitch = _WIDE / max(len(points), 1)
    bars = []
    for place, point in enumerate(points):
        height = 105.0 * point.finished / (highest or 1)
        bars.append(
            WeekBar(
                point,
                Bar(place * pitch + 0.14 * pitch, 0.72 * pitch, 200 - height, height),
                named=place in (0, len(points) // 2, len(points) - 1),
                counted=bool(point.finished)
                and (place == len(points) - 1 or point.finished == highest),
            )
        )
    known = [(week.bar.middle, week.point.on_time) for week in bars]
    lines: list[list[str]] = [[]]
    last = None
    for x, share in known:
        if share is None:
            lines.append([])
            continue
        y = _share_y(share, bars)
        lines[-1].append(f"{x:.2f},{y:.1f}")
        last = x, y, share
    return WeekChart(bars, [" ".join(line) for line in lines if len(line) > 1], last)


def _share_y(share: float, weeks: Sequence[WeekBar]) -> float:
    """From a hundred percent at the top to the least there is, in tens."""
    shares = [week.point.on_time for week in weeks if week.point.on_time is not None]
    least = min([*shares, 90.0]) // 10 * 10
    return 12 + (100 - share) / (100 - min(least, 90)) * 52


# Takings


@dataclass(frozen=True)
class DayTaken:
    """What came in on a day by means, less what was given back. ``is_open``: the shop was open."""

    day: date
    card: Decimal
    cash: Decimal
    is_open: bool


@dataclass(frozen=True)
class TakingsBar:
    taken: DayTaken
    card: Bar
    cash: Bar


@dataclass(frozen=True)
class TakingsChart:
    """``axis``: a round sum, and where its line lies; None where nothing was taken."""

    bars: Sequence[TakingsBar]
    axis: tuple[Decimal, float] | None
    wide: float = _WIDE
    base: int = 176
    height: int = 206


def takings_chart(days: Sequence[DayTaken]) -> TakingsChart:
    """Card below and cash above it; a day on which more went out than in has no bar."""
    nothing = Decimal(0)
    taken = [(max(day.card, nothing), max(day.cash, nothing)) for day in days]
    highest = max((card + cash for card, cash in taken), default=nothing)
    pitch = _WIDE / max(len(days), 1)
    bars = []
    for place, (day, sums) in enumerate(zip(days, taken, strict=True)):
        card, cash = (156.0 * float(money) / float(highest or 1) for money in sums)
        x, width = place * pitch + 0.14 * pitch, 0.72 * pitch
        gap = 1.5 if card and cash > 1.5 else 0.0
        bars.append(
            TakingsBar(
                day,
                Bar(x, width, 176 - card, card),
                Bar(x, width, 176 - card - cash, cash - gap),
            )
        )
    top = round_sum(highest)
    axis = (top, 176 - 156.0 * float(top / highest)) if highest else None
    return TakingsChart(bars, axis)


def round_sum(highest: Decimal) -> Decimal:
    """The greatest of 1, 2, 5, 10, 20, 50 … that is not above it; 0 for less than one."""
    steps = [Decimal(lead) * 10**power for power in range(9) for lead in (1, 2, 5)]
    return max((step for step in steps if step <= highest), default=Decimal(0))


# Rows: one bar each


@dataclass(frozen=True)
class StationWork:
    """Crew minutes that wait at a station now, of pieces on hold there, and that its crew has
    left."""

    station: Station
    waiting: float
    held: float
    left: float

    @property
    def over(self) -> float:
        return max(self.waiting - self.left, 0.0)


@dataclass(frozen=True)
class WorkBar:
    """``room``: what the crew has left; ``ink`` what can be done, ``over`` what can't, ``mid`` on
    hold; all percent."""

    work: StationWork
    room: float
    ink: float
    over: float
    mid: float

    @property
    def total(self) -> float:
        """Minutes that wait, those of pieces on hold among them."""
        return self.work.waiting + self.work.held

    @property
    def mid_from(self) -> float:
        return self.ink + self.over


def work_bars(works: Sequence[StationWork]) -> list[WorkBar]:
    """One bar for each station, all on one scale."""
    longest = max((max(work.waiting + work.held, work.left) for work in works), default=0)
    scale = 100 / (longest or 1)
    return [
        WorkBar(
            work,
            room=work.left * scale,
            ink=(work.waiting - work.over) * scale,
            over=work.over * scale,
            mid=work.held * scale,
        )
        for work in works
    ]


def row_lengths(counts: Sequence[int]) -> list[float]:
    """Percent of the longest for each count."""
    longest = max(counts, default=0) or 1
    return [100 * count / longest for count in counts]
