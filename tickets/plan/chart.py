"""The day plan as a drawing for paper: rectangles and words at measured places, in millimetres.

No word is wider than the place it has: it is measured in the house typeface, set beside its bar
where there is room, or left out whole (the list under the chart says everything).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from tickets.plan.sheet import PlanRow, PlanSheet, Stretch, full_hour
from tickets.plan.values import RUN
from tickets.plan.wording import clock
from tickets.printing import fonts

_PER_POINT = 72 / 25.4 * 1.04
"""Millimetres of a type size in points -> units, with a little to spare."""

_INSET, _BETWEEN = 0.07, 0.025
"""White above and below a bar, and after it, as shares of its row."""


_HOUR = timedelta(hours=1)
_LEAST = timedelta(hours=4)
"""The shortest time that a chart shows."""


@dataclass(frozen=True)
class Scale:
    """Lengths of a drawing in its own units; ``big`` and ``small`` are type sizes."""

    width: float
    label: float
    row: float
    head: float
    big: float
    small: float
    pad: float


@dataclass(frozen=True)
class Word:
    x: float
    y: float
    text: str
    bold: bool = False
    beside: bool = False
    """It stands after its bar and not on it."""


@dataclass(frozen=True)
class PlanBar:
    x: float
    y: float
    width: float
    height: float
    kind: str
    words: tuple[Word, ...]


@dataclass(frozen=True)
class Line:
    y: float
    strong: bool


@dataclass(frozen=True)
class Tick:
    x: float
    text: str


@dataclass(frozen=True)
class Span:
    x: float
    width: float
    text: str = ""


@dataclass(frozen=True)
class PlanChart:
    scale: Scale
    width: float
    height: float
    top: float
    left: float
    ticks: tuple[Tick, ...]
    labels: tuple[Word, ...]
    lines: tuple[Line, ...]
    bars: tuple[PlanBar, ...]
    gone: Span | None
    pauses: tuple[Span, ...]

    @property
    def body(self) -> float:
        return self.height - self.top

    @property
    def tick_y(self) -> float:
        """Where the names of the hours stand."""
        return round(self.top * 0.8, 1)


def plan_chart(sheet: PlanSheet, scale: Scale) -> PlanChart:
    """The chart of a plan at one size."""
    return _Drawing(sheet, scale).chart()


def _edges(sheet: PlanSheet) -> tuple[datetime, datetime]:
    """From the hour in which the plan begins to that in which its last work ends: hours in which
    nothing stands would only make the words smaller."""
    last = max(
        (stretch.ends for row in sheet.rows for stretch in row.stretches), default=sheet.closes
    )
    starts = max(sheet.opens, full_hour(sheet.begins))
    ends = max(full_hour(last) + _HOUR, starts + _LEAST)
    return min(starts, sheet.closes - _HOUR), min(ends, sheet.closes)


class _Drawing:
    def __init__(self, sheet: PlanSheet, scale: Scale) -> None:
        self.sheet, self.scale = sheet, scale
        self.starts, self.ends = _edges(sheet)
        self.length = (self.ends - self.starts).total_seconds()

    def x(self, at: datetime) -> float:
        # A run begun before the first hour shown, or ending after the last, is cut there.
        share = (at - self.starts).total_seconds() / self.length
        room = self.scale.width - self.scale.label
        return round(self.scale.label + room * min(max(share, 0.0), 1.0), 2)

    def chart(self) -> PlanChart:
        sheet, scale = self.sheet, self.scale
        rows = sheet.rows
        begins = self.x(sheet.begins)
        return PlanChart(
            scale,
            scale.width,
            scale.head + scale.row * max(len(rows), 1),
            scale.head,
            scale.label,
            tuple(self._ticks()),
            tuple(word for n, row in enumerate(rows) for word in self._labels(n, row)),
            tuple(Line(scale.head + n * scale.row, row.first) for n, row in enumerate(rows)),
            tuple(bar for n, row in enumerate(rows) for bar in self._bars(n, row)),
            Span(scale.label, begins - scale.label) if begins > scale.label else None,
            tuple(Span(self.x(a), self.x(b) - self.x(a)) for a, b in sheet.pauses),
        )

    def _ticks(self) -> list[Tick]:
        hour, ticks = full_hour(self.starts), []
        while hour <= self.ends:
            if hour >= self.starts:
                ticks.append(Tick(self.x(hour), clock(hour)))
            hour += _HOUR
        return ticks

    def _labels(self, number: int, row: PlanRow) -> list[Word]:
        scale, top = self.scale, self.scale.head + number * self.scale.row
        room = scale.label - 2 * scale.pad
        big = self._fit(row.station, room, scale.big, True)
        if not row.name:
            return [Word(0, top + scale.row / 2 + scale.big * 0.35, big, True)]
        name = self._fit(row.name, room, scale.small, False)
        if not row.first:
            return [Word(0, top + scale.row / 2 + scale.small * 0.35, name)]
        first, second = self._lines(top)
        return [Word(0, first, big, True), Word(0, second, name)]

    def _lines(self, top: float) -> tuple[float, float]:
        """Baselines of the two lines in a row."""
        scale = self.scale
        block = scale.big + scale.small * 1.05
        first = top + (scale.row - block) / 2 + scale.big * 0.82
        return round(first, 1), round(first + scale.small * 1.15, 1)

    def _bars(self, number: int, row: PlanRow) -> list[PlanBar]:
        bars = []
        for place, stretch in enumerate(row.stretches):
            later = row.stretches[place + 1 :]
            limit = self.x(later[0].starts) if later else self.scale.width
            bars.append(self._bar(number, stretch, limit))
        return bars

    def _bar(self, number: int, stretch: Stretch, limit: float) -> PlanBar:
        scale = self.scale
        top = scale.head + number * scale.row
        x, end = self.x(stretch.starts), self.x(stretch.ends)
        width = max(end - x, scale.pad)
        return PlanBar(
            x,
            round(top + scale.row * _INSET, 2),
            round(width - scale.row * _BETWEEN, 2),
            round(scale.row * (1 - 2 * _INSET), 2),
            stretch.kind,
            tuple(self._words(stretch, x, width, limit, top)),
        )

    def _words(
        self, stretch: Stretch, x: float, width: float, limit: float, top: float
    ) -> list[Word]:
        scale = self.scale
        first, second = self._lines(top)
        inside, beside = width - 2 * scale.pad, limit - x - width - 2 * scale.pad
        within = _most(stretch.numbers, inside, scale.big)
        numbers = _most(stretch.numbers, beside, scale.big)
        alone = self._count_alone(stretch, x, inside, top)
        if alone and not within and stretch.kind == RUN:
            return alone
        # A run keeps its words; a person's short work sends them where more of them can stand.
        if within and (stretch.kind == RUN or len(within) >= len(numbers)):
            numbers, at, room, out = within, x + scale.pad, inside, False
        else:
            at, room, out = x + width + scale.pad / 2, beside, True
        if not numbers:
            return alone
        words = [Word(round(at, 2), first, numbers, True, out)]
        if whole := self._whole(stretch.says, room):
            words.append(Word(round(at, 2), second, whole, False, out))
        return words

    def _count_alone(self, stretch: Stretch, x: float, room: float, top: float) -> list[Word]:
        scale = self.scale
        if self._wide(stretch.count, scale.small, False) > room:
            return []
        y = round(top + scale.row / 2 + scale.small * 0.35, 2)
        return [Word(round(x + scale.pad, 2), y, stretch.count)]

    def _whole(self, says: str, room: float) -> str:
        """What is done, or its first part; nothing rather than half a word."""
        for part in (says, says.partition(", ")[0]):
            if self._wide(part, self.scale.small, False) <= room:
                return part
        return ""

    def _fit(self, text: str, room: float, size: float, bold: bool) -> str:
        """The text, shortened to its room; nothing where only a letter or two would stand."""
        if self._wide(text, size, bold) <= room:
            return text
        shorter = fonts.clip(text, room / _PER_POINT, size, bold)
        return shorter if len(shorter) > 4 else ""

    def _wide(self, text: str, size: float, bold: bool) -> float:
        return fonts.width(text, size, bold) * _PER_POINT


def _most(numbers: Sequence[str], room: float, size: float) -> str:
    """As many ticket numbers as fit, and how many more there are."""
    for shown in range(len(numbers), 0, -1):
        more = len(numbers) - shown
        text = " · ".join(numbers[:shown]) + (f" +{more}" if more else "")
        if fonts.width(text, size, True) * _PER_POINT <= room:
            return text
    return ""
