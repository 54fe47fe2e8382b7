"""The why of a decision as a picture: one strip a limit, one numbered mark a rule.

Only geometry and words; what stands where comes from ``care_rules.why``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from care_rules import LimitRow, Mark, Rule
from care_rules.why import stops
from care_rules.wording import limit_name, short_value, value_words
from counter.care.wording import TABLE_WORDS, limits_status, mark_words
from counter.models import Shop
from tickets import house_book

WIDTH, EDGE = 320, 24
_STEP, _RADIUS, _FOOT = 21, 9, 22
_ROOM = 28
_STRAIGHT_UP = 4
"""Marks on one place stack up to this many; more stand in columns side by side."""


@dataclass(frozen=True)
class DrawnRule:
    """A rule as the legend names it. ``number`` stands on its marks."""

    number: int
    key: str
    name: str
    kind: str
    says: str
    source: str
    status: str
    linked: bool


@dataclass(frozen=True)
class DrawnMark:
    number: int
    x: float
    y: float
    decides: bool
    set_aside: bool
    words: str
    name: str

    @property
    def left(self) -> float:
        return self.x - _RADIUS - 0.5

    @property
    def top(self) -> float:
        return self.y - _RADIUS - 0.5

    @property
    def baseline(self) -> float:
        """Where the figure on the mark stands."""
        return self.y + 4.5


@dataclass(frozen=True)
class Stop:
    x: float
    words: str
    anchor: str


@dataclass(frozen=True)
class Strip:
    """One limit, harshest treatment at the left: all that lies left of ``x`` is closed."""

    name: str
    words: str
    width: int
    height: int
    line: float
    foot: float
    x: float
    start: float
    barred: float
    end: float
    stops: list[Stop]
    marks: list[DrawnMark]

    @property
    def bar_top(self) -> float:
        return self.line - 3

    @property
    def open(self) -> bool:
        """Whether nothing is closed after all: each rule on it was set aside."""
        return not any(mark.decides for mark in self.marks)


@dataclass(frozen=True)
class Drawing:
    strips: list[Strip]
    rules: list[DrawnRule]

    @property
    def has_set_aside(self) -> bool:
        return any(mark.set_aside for strip in self.strips for mark in strip.marks)


def draw(rows: Sequence[LimitRow], shop: Shop) -> Drawing:
    """The picture of ``care_rules.why``."""
    numbers: dict[str, int] = {}
    rules: list[DrawnRule] = []
    for row in rows:
        for mark in row.marks:
            if mark.key not in numbers:
                numbers[mark.key] = len(numbers) + 1
                rules.append(_rule(numbers[mark.key], mark))
    return Drawing([_strip(row, numbers, shop) for row in rows], rules)


def _rule(number: int, mark: Mark) -> DrawnRule:
    rule = house_book.rule(mark.key)
    return DrawnRule(
        number,
        mark.key,
        f"{mark.name[:1].upper()}{mark.name[1:]}",
        _kind(rule),
        rule.says,
        rule.source,
        limits_status(rule),
        rule.table != "house",
    )


def _strip(row: LimitRow, numbers: dict[str, int], shop: Shop) -> Strip:
    places: dict[float, list[Mark]] = {}
    for mark in row.marks:
        places.setdefault(mark.place, []).append(mark)
    tallest = min(max(map(len, places.values())), _STRAIGHT_UP)
    line = 4 + tallest * _STEP
    marks = [
        _mark(mark, index, line, numbers, row.path, shop)
        for stacked in places.values()
        for index, mark in enumerate(stacked)
    ]
    x = _x(row.place)
    return Strip(
        name=limit_name(row.path),
        words=value_words(row.path, row.value, fahrenheit=shop.fahrenheit),
        width=WIDTH,
        height=line + _FOOT,
        line=line,
        foot=line + 18,
        x=x,
        start=EDGE / 2,
        barred=round((WIDTH - EDGE / 2 if row.place == 1 else x) - EDGE / 2, 1),
        end=WIDTH - EDGE / 2,
        stops=_stops(row.path, shop),
        marks=marks,
    )


def _mark(
    mark: Mark, index: int, line: float, numbers: dict[str, int], path: str, shop: Shop
) -> DrawnMark:
    column, row = divmod(index, _STRAIGHT_UP)
    # Columns run towards the middle, so that none leaves the picture.
    side = -1 if mark.place > 0.5 else 1
    limit = value_words(path, mark.value, fahrenheit=shop.fahrenheit)
    return DrawnMark(
        numbers[mark.key],
        round(_x(mark.place) + side * column * _STEP, 1),
        line - _RADIUS - 3 - row * _STEP,
        mark.decides,
        mark.set_aside,
        mark_words(limit, mark.set_aside, mark.decides),
        f"{mark.name[:1].upper()}{mark.name[1:]} ({_kind(house_book.rule(mark.key))})",
    )


def _kind(rule: Rule) -> str:
    return str(TABLE_WORDS.get(rule.table, rule.table))


def _stops(path: str, shop: Shop) -> list[Stop]:
    """The words under a scale; one that would run into the word before it is left out."""
    drawn: list[Stop] = []
    for value, place in stops(path):
        if not drawn or _x(place) - drawn[-1].x >= _ROOM:
            drawn.append(_stop(value, place, path, shop))
    return drawn


def _stop(value: str, place: float, path: str, shop: Shop) -> Stop:
    anchor = "start" if place == 0 else "end" if place == 1 else "middle"
    x = _x(place)
    if anchor != "middle":
        x += -EDGE / 2 if anchor == "start" else EDGE / 2
    return Stop(round(x, 1), short_value(path, value), anchor)


def _x(place: float) -> float:
    return round(EDGE + place * (WIDTH - 2 * EDGE), 1)
