"""A bar chart as plain numbers, drawn by the template as SVG. No script, no style attributes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

WIDTH, HEIGHT = 700, 170
_TOP, _FOOT = 22, 22
_GAP = 0.28


@dataclass(frozen=True)
class DayBar:
    """Lengths in units of the drawing; ``middle`` is where the figures stand."""

    day: date
    count: int
    x: float
    y: float
    width: float
    height: float

    @property
    def middle(self) -> float:
        return round(self.x + self.width / 2, 1)

    @property
    def above(self) -> float:
        return round(self.y - 6, 1)


@dataclass(frozen=True)
class Chart:
    bars: Sequence[DayBar]
    width: int = WIDTH
    height: int = HEIGHT

    @property
    def base(self) -> int:
        return HEIGHT - _FOOT

    @property
    def words(self) -> int:
        """Where the names of the days stand."""
        return HEIGHT - 5

    @property
    def empty(self) -> bool:
        return all(bar.count == 0 for bar in self.bars)


def bar_chart(counts: Sequence[tuple[date, int]]) -> Chart:
    """One bar for each day, as high as its count; the highest fills the drawing."""
    highest = max((count for _day, count in counts), default=0) or 1
    pitch = WIDTH / max(len(counts), 1)
    room = HEIGHT - _TOP - _FOOT
    bars = []
    for place, (day, count) in enumerate(counts):
        height = round(room * count / highest, 1)
        bars.append(
            DayBar(
                day=day,
                count=count,
                x=round(place * pitch + pitch * _GAP / 2, 1),
                y=round(HEIGHT - _FOOT - height, 1),
                width=round(pitch * (1 - _GAP), 1),
                height=height,
            )
        )
    return Chart(bars)
