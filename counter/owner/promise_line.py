"""The promises of a day as dots on the line of its hours, and the same downwards with names.

Across, a place on the line is a percentage of the drawing's width, and heights are pixels, so that
the words keep their size at any width.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from django.utils import timezone

from counter.owner.wording.findings import (
    clock_words,
    kept_words,
    more_words,
    past_day,
    stack_words,
)
from tickets.models import Ticket
from tickets.plan.sheet import short_numbers
from tickets.wording import short_name

_HOUR = timedelta(hours=1)
_CLOSE = timedelta(minutes=30)
"""Dots of promises that lie closer stand on each other."""

_STEP, _FOOT, _HEAD = 28, 36, 72
_MOST_STACKED, _MOST_ROWS, _MOST_PAST = 4, 10, 3
_FIRST, _AFTER_PAST, _LAST = 4.0, 14.0, 97.0
_LETTER = 1.1
"""Width of a letter on a line 800 px wide."""

_LONGEST_NAME = 16
"""Letters of a name over the line; a longer one would lie over its neighbours."""

_PAST_FROM, _PAST_STEP = 2.5, 3.5


class Standing(StrEnum):
    """How a promise stands; ``NOW`` marks the present moment among them."""

    KEPT = "kept"
    COMING = "come"
    RISK = "risk"
    MISSED = "missed"
    NOW = "now"


@dataclass(frozen=True)
class DayPromise:
    number: int
    name: str
    at: datetime
    standing: Standing


@dataclass(frozen=True)
class LineMark:
    """``x`` percent, ``y`` px."""

    x: float
    y: int
    standing: Standing


@dataclass(frozen=True)
class LineWords:
    """Words over a stack of dots, in the middle above it or before the edge; a line higher where a
    neighbour's words lie there. A number of those that are not drawn stands in their place."""

    x: float
    y: int
    words: str
    standing: Standing

    @property
    def at_the_edge(self) -> bool:
        return self.x > 88


@dataclass(frozen=True)
class _Stack:
    """Promises of about one hour, the gravest first; ``top``: the height of the uppermost dot."""

    x: float
    top: int
    promises: Sequence[DayPromise]


@dataclass(frozen=True)
class PromiseLine:
    """``hours``: the place and the name of each; ``now``: its place, None where it lies outside.
    ``past``: promises of earlier days that are late, drawn before the line."""

    marks: Sequence[LineMark]
    names: Sequence[LineWords]
    hours: Sequence[tuple[float, int]]
    now: float | None
    first: float
    base: int
    past: int

    @property
    def height(self) -> int:
        return self.base + _FOOT


@dataclass(frozen=True)
class DownRow:
    when: str
    name: str
    standing: Standing


def standing_of(ticket: Ticket, now: datetime, at_risk: Iterable[int]) -> Standing:
    """``at_risk``: numbers of the tickets that are expected after their promise."""
    if ticket.ready_at is not None:
        return Standing.KEPT if ticket.ready_at <= ticket.promised_at else Standing.MISSED
    if ticket.promised_at < now:
        return Standing.MISSED
    return Standing.RISK if ticket.number in at_risk else Standing.COMING


def promises_of(
    tickets: Iterable[Ticket], now: datetime, at_risk: Iterable[int]
) -> list[DayPromise]:
    numbers = set(at_risk)
    return [
        DayPromise(
            ticket.number,
            ticket.customer.name,
            ticket.promised_at,
            standing_of(ticket, now, numbers),
        )
        for ticket in tickets
    ]


def promise_line(
    promises: Sequence[DayPromise],
    opening: tuple[datetime, datetime] | None,
    now: datetime,
    past: Sequence[DayPromise] = (),
) -> PromiseLine | None:
    """The promises of a day in order of their hour; None for a closed day without one.

    ``opening``: when the shop opens and closes on it. ``past``: late ones of earlier days.
    """
    begins, ends = _hours(promises, opening)
    if begins is None or ends is None:
        return None
    first = _AFTER_PAST if past else _FIRST

    def place(at: datetime) -> float:
        return first + (at - begins) / (ends - begins) * (_LAST - first)

    short = short_numbers(promise.number for promise in [*past, *promises])
    stacks = _stacks(promises)
    highest = max((min(len(stack), _MOST_STACKED) for stack in stacks), default=1)
    base = _HEAD + _STEP * highest
    marks, names = _before_the_line(past, base, short)
    over: list[_Stack] = []
    for stack in stacks:
        x = place(stack[0].at)
        shown = sorted(stack, key=lambda promise: _GRAVEST.index(promise.standing))
        heights = [base - 20 - _STEP * number for number in range(min(len(shown), _MOST_STACKED))]
        marks += [
            LineMark(x, y, promise.standing) for y, promise in zip(heights, shown, strict=False)
        ]
        over.append(_Stack(x, heights[-1], shown))
    names += _by_name(over, short) or _by_number(over, short)
    every = range(int((ends - begins) / _HOUR) + 1)
    apart = 2 if len(every) > 13 else 1
    hours = [
        (place(begins + ahead * _HOUR), timezone.localtime(begins + ahead * _HOUR).hour)
        for ahead in every[::apart]
    ]
    inside = begins <= now <= ends
    here = place(now) if inside else None
    return PromiseLine(marks, names, hours, here, first, base, len(past))


def rows_down(
    promises: Sequence[DayPromise], past: Sequence[DayPromise], now: datetime, is_today: bool
) -> list[DownRow]:
    """The same downwards: what is past, the day's promises, and the present moment among them.
    Where they are many, the kept ones are one row and the rest is cut."""
    rows = [DownRow(past_day(late.at), late.name, Standing.MISSED) for late in past[:_MOST_PAST]]
    if len(past) > _MOST_PAST:
        rows.append(DownRow("", more_words(len(past) - _MOST_PAST), Standing.MISSED))
    kept = [promise for promise in promises if promise.standing is Standing.KEPT]
    if len(promises) > _MOST_ROWS and kept:
        rows.append(DownRow("", kept_words(len(kept)), Standing.KEPT))
        promises = [promise for promise in promises if promise.standing is not Standing.KEPT]
    cut, shown = max(len(promises) - _MOST_ROWS, 0), promises[:_MOST_ROWS]
    rows += [_row(promise) for promise in shown if promise.at < now]
    if is_today:
        rows.append(DownRow(clock_words(now), "", Standing.NOW))
    rows += [_row(promise) for promise in shown if promise.at >= now]
    if cut:
        rows.append(DownRow("", more_words(cut), Standing.COMING))
    return rows


_GRAVEST = (Standing.MISSED, Standing.RISK, Standing.COMING, Standing.KEPT)


def _row(promise: DayPromise) -> DownRow:
    return DownRow(clock_words(promise.at), promise.name, promise.standing)


def _hours(
    promises: Sequence[DayPromise], opening: tuple[datetime, datetime] | None
) -> tuple[datetime, datetime] | tuple[None, None]:
    """Whole hours that hold the opening and every promise."""
    moments = [promise.at for promise in promises]
    if opening is not None:
        moments += opening
    if not moments:
        return None, None
    first, last = timezone.localtime(min(moments)), timezone.localtime(max(moments))
    begins = first.replace(minute=0, second=0, microsecond=0)
    ends = last.replace(minute=0, second=0, microsecond=0)
    ends = ends if ends == last and ends > begins else ends + _HOUR
    return begins, ends


def _stacks(promises: Sequence[DayPromise]) -> list[list[DayPromise]]:
    stacks: list[list[DayPromise]] = []
    for promise in promises:
        if stacks and promise.at - stacks[-1][0].at < _CLOSE:
            stacks[-1].append(promise)
        else:
            stacks.append([promise])
    return stacks


def _before_the_line(
    past: Sequence[DayPromise], base: int, short: Mapping[int, str]
) -> tuple[list[LineMark], list[LineWords]]:
    """Crosses of earlier days with their tickets' numbers, and how many more there are."""
    fits = len(past) <= _MOST_PAST
    drawn = past if fits else past[: _MOST_PAST - 1]
    marks, names = [], []
    for place, late in enumerate(drawn):
        x = _PAST_FROM + _PAST_STEP * place
        marks.append(LineMark(x, base - 20, Standing.MISSED))
        y = base - (58 if place % 2 else 38)
        names.append(LineWords(x, y, short[late.number], Standing.MISSED))
    if not fits:
        x = _PAST_FROM + _PAST_STEP * len(drawn)
        names.append(LineWords(x, base - 15, f"+{len(past) - len(drawn)}", Standing.MISSED))
    return marks, names


def _by_name(stacks: Iterable[_Stack], short: Mapping[int, str]) -> list[LineWords]:
    """Words over each stack; none at all where they would lie over each other."""
    names: list[LineWords] = []
    for stack in stacks:
        if text := _words_of(stack.promises, short, by_name=True):
            places = _free(stack, text, names)
            if not places:
                return []
            names.append(places[0])
    return names


def _by_number(stacks: Iterable[_Stack], short: Mapping[int, str]) -> list[LineWords]:
    """The same in as few letters as can be, so that none has to be left out."""
    names: list[LineWords] = []
    for stack in stacks:
        if text := _words_of(stack.promises, short, by_name=False):
            names.append([*_free(stack, text, names), *_over(stack, text)][0])
    return names


def _over(stack: _Stack, text: str) -> list[LineWords]:
    standing = stack.promises[0].standing
    return [LineWords(stack.x, stack.top - up, text, standing) for up in (18, 38)]


def _free(stack: _Stack, text: str, names: Sequence[LineWords]) -> list[LineWords]:
    """The places over a stack where words lie over none of ``names``."""
    return [words for words in _over(stack, text) if all(_apart(words, name) for name in names)]


def _words_of(stack: Sequence[DayPromise], short: Mapping[int, str], *, by_name: bool) -> str:
    """Who is in danger in a stack, or how many; nothing over dots that are well."""
    gravest, hidden = stack[0], len(stack) - _MOST_STACKED
    if gravest.standing not in (Standing.MISSED, Standing.RISK):
        return f"+{hidden}" if hidden > 0 else ""
    alike = sum(promise.standing is gravest.standing for promise in stack)
    if alike == 1 and hidden <= 0:
        name = short_name(gravest.name)
        return name if by_name and len(name) <= _LONGEST_NAME else short[gravest.number]
    if not by_name:
        return f"×{alike}"
    return stack_words(gravest.standing is Standing.MISSED, alike, max(hidden, 0) and len(stack))


def _apart(words: LineWords, before: LineWords) -> bool:
    """Whether words do not lie over others, of which none begins further on."""
    return abs(words.y - before.y) >= 18 or _left(words) > _right(before)


def _left(over: LineWords) -> float:
    return over.x - len(over.words) * _LETTER * (1 if over.at_the_edge else 0.5)


def _right(over: LineWords) -> float:
    return over.x + len(over.words) * _LETTER * (0 if over.at_the_edge else 0.5)
