"""The day plan on the wall: 1920 by 1080 without scrolling, nothing under 26 px, times 44 px.

A word stands on its bar only where it fits, measured in the house typeface. Rows are as high as the
wall allows; those that would be too low to read are counted under the lanes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from tickets.plan import wording
from tickets.plan.sheet import PlanRow, PlanSheet, Stretch
from tickets.plan.values import RUN
from tickets.printing import fonts

WIDTH, HEIGHT = 1920, 1080
LEFT, RIGHT, TOP, FOOT = 250, 1480, 200, 1014
_NUMBER, _SMALL, _PAD = 28, 26, 10
_HIGHEST, _LOWEST, _EDGE = 74, 38, 6
_HOUR, _LEAST = timedelta(hours=1), timedelta(hours=4)
_PER_POINT = 72 / 25.4 * 1.04
MOST_DUE = 9
_DUE_TOP, _DUE_STEP, _DUE_ROOM = 161, 102, 270


@dataclass(frozen=True)
class WallBar:
    """``look``: ``run``, ``hand`` or ``late``; ``number`` stands on the bar or ``beside`` it; it
    and ``says`` are empty without room."""

    x: float
    y: float
    width: float
    height: float
    look: str
    number: str
    says: str
    says_x: float
    text_x: float
    text_y: float
    beside: bool
    full: str


@dataclass(frozen=True)
class WallRow:
    station: str
    name: str
    y: float


@dataclass(frozen=True)
class WallDue:
    """A ticket of the list: ``when`` is its hour, and "Late" past its promise."""

    level: str
    when: str
    number: str
    customer: str
    y: float


@dataclass(frozen=True)
class Wall:
    hours: list[tuple[float, str]]
    pauses: list[tuple[float, float]]
    now_x: float | None
    rows: list[WallRow]
    bars: list[WallBar]
    hidden: int


def wall_of(sheet: PlanSheet) -> Wall:
    """The lanes of a plan, measured for the wall."""
    starts, ends = _edges(sheet)
    count = min(len(sheet.rows), (FOOT - TOP) // _LOWEST)
    step = min(_HIGHEST, (FOOT - TOP) / max(count, 1))

    def x(at: datetime) -> float:
        share = (at - starts) / (ends - starts)
        return LEFT + (RIGHT - LEFT) * min(max(share, 0.0), 1.0)

    rows = sheet.rows[:count]
    tops = [TOP + place * step for place in range(count)]
    hours = round((ends - starts) / _HOUR)
    marks = [starts + place * _HOUR for place in range(hours + 1)]
    return Wall(
        hours=[(x(mark), str(timezone.localtime(mark).hour)) for mark in marks],
        pauses=[(x(begin), x(end) - x(begin)) for begin, end in sheet.pauses if end > starts],
        now_x=x(sheet.now) if sheet.is_today and sheet.now >= sheet.opens else None,
        rows=[
            WallRow(row.station if row.first else "", _short_name(row), top + step * 0.56)
            for row, top in zip(rows, tops, strict=True)
        ],
        bars=[
            _bar(stretch, (x(stretch.starts), x(stretch.ends), limit), top, step)
            for row, top in zip(rows, tops, strict=True)
            for stretch, limit in zip(
                row.stretches, [*(x(part.starts) for part in row.stretches[1:]), RIGHT], strict=True
            )
        ],
        hidden=len(sheet.rows) - count,
    )


def _edges(sheet: PlanSheet) -> tuple[datetime, datetime]:
    """Whole hours from the beginning of the plan to the end of its last work."""
    last = max((part.ends for row in sheet.rows for part in row.stretches), default=sheet.closes)
    starts = _full_hour(max(sheet.opens, sheet.begins))
    return starts, max(_full_hour(last) + _HOUR, starts + _LEAST)


def _full_hour(at: datetime) -> datetime:
    return timezone.localtime(at).replace(minute=0, second=0, microsecond=0)


def _short_name(row: PlanRow) -> str:
    """What tells the row from its station's others, in the room before the lanes."""
    room = LEFT - 84 - (_wide(row.station, 32) + _PAD if row.first else 0)
    words = [row.name, row.name.split()[-1]] if row.name else []
    return next((text for text in words if _wide(text, _SMALL) <= room), "")


def _bar(stretch: Stretch, places: tuple[float, float, float], top: float, step: float) -> WallBar:
    """``places``: where it begins and ends, and where the next bar of its row begins."""
    x, end, limit = places
    width = max(end - x - 4, 6)
    edge = _EDGE if stretch.late else 0
    room = width - 2 * _PAD - edge
    number = _numbers(stretch.numbers, room)
    text_x, beside = x + _PAD + edge, False
    if not number and (number := _numbers(stretch.numbers, limit - end - _PAD)):
        text_x, beside = end + _PAD / 2, True
    says_x = text_x + _wide(number, _NUMBER) + 10
    fits = bool(number) and not beside and says_x + _wide(stretch.says, _SMALL) <= x + width - _PAD
    return WallBar(
        x=x,
        y=top + step * 0.12,
        width=width,
        height=step * 0.76,
        look="late" if stretch.late else "run" if stretch.kind == RUN else "hand",
        number=number,
        says=stretch.says if fits else "",
        says_x=says_x,
        text_x=text_x,
        beside=beside,
        text_y=top + step * 0.5 + _NUMBER * 0.35,
        full=f"{stretch.clock}: {stretch.says}, {stretch.count}",
    )


def _numbers(numbers: Sequence[str], room: float) -> str:
    """The first ticket number and how many more there are, where they fit."""
    if not numbers:
        return ""
    more = len(numbers) - 1
    texts = [f"{numbers[0]} +{more}", numbers[0]] if more else [numbers[0]]
    return next((text for text in texts if _wide(text, _NUMBER) <= room), "")


def _wide(text: str, size: float) -> float:
    return fonts.width(text, size) * _PER_POINT


def _clipped(customer: str, number: str) -> str:
    """The name, shortened to its room behind the number."""
    room = _DUE_ROOM - _wide(f"{number} ", _SMALL)
    if _wide(customer, _SMALL) <= room:
        return customer
    return fonts.clip(customer, room / _PER_POINT, _SMALL)


def dues_of(
    tickets: Sequence[tuple[int, datetime, str]],
    now: datetime,
    level_of: dict[int, str],
    short: dict[int, str],
) -> list[WallDue]:
    """The list at the right: (number, promise, customer) each, the earliest first."""
    return [
        WallDue(
            level=level_of[number],
            when=wording.late_word() if promised < now else wording.clock(promised),
            number=short[number],
            customer=_clipped(customer, short[number]),
            y=_DUE_TOP + place * _DUE_STEP,
        )
        for place, (number, promised, customer) in enumerate(tickets[:MOST_DUE])
    ]
