"""The day plan on the wall: 1920 by 1080 without scrolling, nothing under 26 px, times 44 px.

No box is without its number. Work too short for it takes the room that it needs, measured in the
house typeface, up to the next box, and where that is not enough the two are one. Rows are as high
as the wall allows; those that would be too low to read are counted under the lanes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from tickets.plan import wording
from tickets.plan.sheet import PlanRow, PlanSheet, Stretch
from tickets.plan.values import RUN
from tickets.printing import fonts

WIDTH, HEIGHT = 1920, 1080
LEFT, RIGHT, TOP, FOOT = 250, 1480, 200, 1014
_NUMBER, _SMALL, _TITLE, _PAD = 28, 26, 52, 10
_APART, _NOW_ROOM = 4, 72
_HIGHEST, _LOWEST, _EDGE = 74, 38, 6
_HOUR, _LEAST = timedelta(hours=1), timedelta(hours=4)
_PER_POINT = 72 / 25.4 * 1.04
MOST_DUE = 9
_DUE_TOP, _DUE_STEP, _DUE_ROOM = 161, 102, 270


@dataclass(frozen=True)
class WallBar:
    """``look``: ``run``, ``hand`` or ``late``. ``number`` is the first ticket and how many more
    there are; ``says`` is empty without room."""

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
    """``title_ends``: where there is room beside the day's name. An hour that the present one lies
    over is not said."""

    title_ends: float
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
    now_x = x(sheet.now) if sheet.is_today and sheet.now >= sheet.opens else None
    return Wall(
        title_ends=60 + _wide(sheet.day_words, _TITLE, bold=True),
        hours=[
            (x(mark), str(timezone.localtime(mark).hour))
            for mark in marks
            if now_x is None or abs(x(mark) - now_x) > _NOW_ROOM
        ],
        pauses=[(x(begin), x(end) - x(begin)) for begin, end in sheet.pauses if end > starts],
        now_x=now_x,
        rows=[
            WallRow(
                row.station if row.first else "",
                _short_name(row, [other for other in rows if other.station == row.station]),
                top + step * 0.56,
            )
            for row, top in zip(rows, tops, strict=True)
        ],
        bars=[
            _bar(box, top, step)
            for row, top in zip(rows, tops, strict=True)
            for box in _boxes(row.stretches, x)
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


def _short_name(row: PlanRow, beside: Sequence[PlanRow]) -> str:
    """What tells the row from its station's others, in the room before the lanes: of people, and of
    machines that are named alike, the number alone."""
    words = row.name.split()
    alike = {other.name.rpartition(" ")[0] for other in beside}
    if len(words) > 1 and len(beside) > 1 and len(alike) == 1:
        return words[-1]
    room = LEFT - 84 - (_wide(row.station, 32) + _PAD if row.first else 0)
    texts = [row.name, words[-1]] if words else []
    return next((text for text in texts if _wide(text, _SMALL) <= room), "")


@dataclass(frozen=True)
class _Box:
    """Stretches of a row that stand as one, in the room from ``x`` to ``end``."""

    x: float
    end: float
    stretches: tuple[Stretch, ...]

    @property
    def late(self) -> bool:
        return any(stretch.late for stretch in self.stretches)

    @property
    def numbers(self) -> list[str]:
        """Its tickets, the late ones first."""
        pieces = [piece for stretch in self.stretches for piece in stretch.pieces]
        pieces.sort(key=lambda piece: not piece.late)
        return list(dict.fromkeys(piece.ticket for piece in pieces))

    @property
    def margin(self) -> float:
        return _PAD + (_EDGE if self.late else 0)

    @property
    def least(self) -> float:
        """The width that its number needs."""
        return self.margin + _wide(_number(self.numbers), _NUMBER) + _PAD + _APART

    @property
    def look(self) -> str:
        if self.late:
            return "late"
        return "run" if any(part.kind == RUN for part in self.stretches) else "hand"


def _boxes(stretches: Sequence[Stretch], x: Callable[[datetime], float]) -> list[_Box]:
    """From the right, so that the last one ends where the lanes do."""
    boxes: list[_Box] = []
    for stretch in reversed(stretches):
        box = _Box(x(stretch.starts), x(stretch.ends), (stretch,))
        while boxes and box.x + box.least > boxes[0].x:
            after = boxes.pop(0)
            box = _Box(box.x, after.end, (*box.stretches, *after.stretches))
        end = max(box.end, box.x + box.least)
        boxes.insert(0, _Box(min(box.x, RIGHT - box.least), min(end, RIGHT), box.stretches))
    return boxes


def _bar(box: _Box, top: float, step: float) -> WallBar:
    width = box.end - box.x - _APART
    number, text_x = _number(box.numbers), box.x + box.margin
    says_x = text_x + _wide(number, _NUMBER) + 10
    says = box.stretches[0].says
    alike = all(stretch.says == says for stretch in box.stretches)
    fits = alike and says_x + _wide(says, _SMALL) <= box.x + width - _PAD
    return WallBar(
        x=box.x,
        y=top + step * 0.12,
        width=width,
        height=step * 0.76,
        look=box.look,
        number=number,
        says=says if fits else "",
        says_x=says_x,
        text_x=text_x,
        text_y=top + step * 0.5 + _NUMBER * 0.35,
        full="; ".join(f"{part.clock}: {part.says}, {part.count}" for part in box.stretches),
    )


def _number(numbers: Sequence[str]) -> str:
    """The first ticket and how many more there are."""
    more = len(numbers) - 1
    return f"{numbers[0]} +{more}" if more > 0 else "".join(numbers)


def _wide(text: str, size: float, *, bold: bool = False) -> float:
    return fonts.width(text, size, bold) * _PER_POINT


def _room_for(customer: str, number: str) -> str:
    """As much of a short name as its room behind the number holds, always whole words: all of it,
    the family's, its last part; else none."""
    room = _DUE_ROOM - _wide(f"{number} ", _SMALL)
    family = customer.rpartition(" ")[0]
    texts = [customer, family, family.rpartition("-")[2]]
    return next((text for text in texts if _wide(text, _SMALL) <= room), "")


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
            customer=_room_for(customer, short[number]),
            y=_DUE_TOP + place * _DUE_STEP,
        )
        for place, (number, promised, customer) in enumerate(tickets[:MOST_DUE])
    ]
