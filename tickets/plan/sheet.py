"""The day plan as it is read: rows of stretches in words. The page, its chart and the paper are all
made from this."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby, pairwise

from django.utils import timezone

from tickets.choices import Station
from tickets.plan import wording
from tickets.plan.shop_day import DayPlan, PieceName
from tickets.plan.values import (
    EMPTY,
    FILL,
    MATCH,
    MINUTE,
    REST,
    RUN,
    Block,
)
from tickets.plan.wording import clock
from tickets.wording import kind_name

TOGETHER, GAP = 60 * MINUTE, 10 * MINUTE
"""Short work of one person stands as one stretch of an hour at the most, without long gaps."""

_SHORT = 4


@dataclass(frozen=True)
class PlannedPiece:
    """A piece in a stretch, with its own minutes in it; ``ticket``: its short number."""

    code: str
    spoken: str
    ticket: str
    what: str
    starts: datetime
    ends: datetime
    late: bool


@dataclass(frozen=True)
class Stretch:
    """What stands as one thing on a row. ``says`` is what is done."""

    starts: datetime
    ends: datetime
    kind: str
    says: str
    pieces: tuple[PlannedPiece, ...]

    @property
    def late(self) -> bool:
        return any(piece.late for piece in self.pieces)

    @property
    def numbers(self) -> list[str]:
        """The short numbers of its tickets, with how often each stands in it."""
        return _counted(piece.ticket for piece in self.pieces)

    @property
    def clock(self) -> str:
        return f"{clock(self.starts)}–{clock(self.ends)}"

    @property
    def count(self) -> str:
        return wording.stretch_count(len(self.pieces))


@dataclass(frozen=True)
class PlanRow:
    """One person's place or one machine. ``name`` is empty where the station has no other row."""

    station: str
    name: str
    first: bool
    stretches: tuple[Stretch, ...]

    @property
    def title(self) -> str:
        return f"{self.station}: {self.name}" if self.name else self.station


@dataclass(frozen=True)
class HourRow:
    """What one person or one machine does in an hour, one thing after the other."""

    row: PlanRow
    stretches: tuple[Stretch, ...]

    @property
    def clock(self) -> str:
        return f"{clock(self.stretches[0].starts)}–{clock(self.stretches[-1].ends)}"

    @property
    def says(self) -> list[str]:
        """What is done, each thing once."""
        return list(dict.fromkeys(stretch.says for stretch in self.stretches))

    @property
    def late(self) -> bool:
        return any(stretch.late for stretch in self.stretches)

    @property
    def pieces(self) -> list[PlannedPiece]:
        """Each once, however often it is in hand."""
        by_code = {piece.code: piece for part in self.stretches for piece in part.pieces}
        return list(by_code.values())

    @property
    def numbers(self) -> list[str]:
        return _counted(piece.ticket for piece in self.pieces)


@dataclass(frozen=True)
class PlanHour:
    """What is begun in one hour, in the order of the rows."""

    begins: datetime
    says: str
    work: tuple[HourRow, ...]

    @property
    def late(self) -> bool:
        return any(row.late for row in self.work)

    @property
    def count(self) -> str:
        codes = {piece.code for row in self.work for piece in row.pieces}
        return wording.stretch_count(len(codes))


@dataclass(frozen=True)
class LeftPiece:
    """``note``: when it goes on, where that is known."""

    code: str
    spoken: str
    what: str
    note: str


@dataclass(frozen=True)
class LeftOver:
    """Pieces that the day does not finish, for one reason."""

    says: str
    pieces: tuple[LeftPiece, ...]


@dataclass(frozen=True)
class PlanSheet:
    """Everything that the page and the paper say."""

    day: date
    is_today: bool
    now: datetime
    begins: datetime
    opens: datetime
    closes: datetime
    pauses: tuple[tuple[datetime, datetime], ...]
    rows: tuple[PlanRow, ...]
    matched: tuple[int, ...]
    left: tuple[LeftOver, ...]
    pieces: int = 0

    @property
    def title(self) -> str:
        return wording.plan_title(self.is_today)

    @property
    def day_words(self) -> str:
        return wording.day_words(self.day)

    @property
    def from_words(self) -> str:
        return wording.from_words(self.begins)

    @property
    def hours(self) -> list[PlanHour]:
        """The rows by hour, the present one first with what is under way in it."""
        work: dict[datetime, list[HourRow]] = {}
        first = full_hour(self.begins)
        for row in self.rows:
            for hour, stretches in groupby(
                row.stretches, lambda stretch: max(full_hour(stretch.starts), first)
            ):
                work.setdefault(hour, []).append(HourRow(row, tuple(stretches)))
        return [
            PlanHour(hour, wording.hour_words(hour, self.is_now(hour)), tuple(work[hour]))
            for hour in sorted(work)
        ]

    def is_now(self, hour: datetime) -> bool:
        """Whether the present moment lies in an hour of the shop's day."""
        return self.is_today and full_hour(self.now) == hour

    @property
    def left_count(self) -> int:
        return len({piece.code for group in self.left for piece in group.pieces})


def full_hour(at: datetime) -> datetime:
    """The hour of the shop's clock in which a moment lies."""
    return timezone.localtime(at).replace(minute=0, second=0, microsecond=0)


def plan_sheet(plan: DayPlan) -> PlanSheet:
    """A played day in words. No queries."""
    names = short_numbers({piece.ticket for piece in plan.pieces.values()})
    matched = sorted({block.ticket for block in plan.played.blocks if block.kind == MATCH})
    pauses = tuple((before[1], after[0]) for before, after in pairwise(plan.spans))
    return PlanSheet(
        day=plan.day,
        is_today=plan.is_today,
        now=plan.now,
        begins=plan.begins,
        opens=plan.opens,
        closes=plan.closes,
        pauses=pauses,
        rows=tuple(_rows(plan, names)),
        matched=tuple(matched),
        left=tuple(_left_over(plan)),
        pieces=len(plan.pieces),
    )


def short_numbers(tickets: Iterable[int]) -> dict[int, str]:
    """The last digits of each ticket's number, as few from four on as tell them all apart."""
    every = {ticket: str(ticket) for ticket in tickets}
    longest = max(map(len, every.values()), default=_SHORT)
    digits = next(
        (n for n in range(_SHORT, longest) if len({t[-n:] for t in every.values()}) == len(every)),
        longest,
    )
    return {ticket: text[-digits:] for ticket, text in every.items()}


def _rows(plan: DayPlan, names: dict[int, str]) -> Iterable[PlanRow]:
    blocks = {lane: list(every) for lane, every in groupby(plan.played.blocks, lambda b: b.lane)}
    shown = [lane for lane in plan.played.lanes if lane in blocks]
    for station, group in groupby(shown, key=lambda lane: lane.station):
        lanes = list(group)
        for lane in lanes:
            yield PlanRow(
                str(Station(station).label),
                wording.lane_name(lane, lanes),
                lane == lanes[0],
                tuple(_stretches(plan, blocks[lane], names)),
            )


def _stretches(plan: DayPlan, blocks: Sequence[Block], names: dict[int, str]) -> Iterable[Stretch]:
    together: list[Block] = []
    for block in blocks:
        if together and not _joins(together, block):
            yield _stretch(plan, together, names)
            together = []
        together.append(block)
    if together:
        yield _stretch(plan, together, names)


def _joins(before: Sequence[Block], block: Block) -> bool:
    """Whether a block of work stands in one stretch with those before it."""
    same = block.kind == before[-1].kind and block.kind not in (FILL, RUN, EMPTY)
    near = block.start - before[-1].end <= GAP
    return same and near and block.end - before[0].start <= TOGETHER


def _stretch(plan: DayPlan, blocks: Sequence[Block], names: dict[int, str]) -> Stretch:
    pieces = tuple(_piece(plan, block, code, names) for block in blocks for code in block.codes)
    return Stretch(
        plan.at(blocks[0].start),
        plan.at(blocks[-1].end),
        blocks[0].kind,
        wording.work_words(blocks, plan.programmes),
        pieces,
    )


def _piece(plan: DayPlan, block: Block, code: str, names: dict[int, str]) -> PlannedPiece:
    known = plan.pieces[code]
    ends = plan.at(block.end)
    return PlannedPiece(
        code,
        known.spoken,
        names[known.ticket],
        _what(known),
        plan.at(block.start),
        ends,
        known.promised_at < ends,
    )


def _counted(numbers: Iterable[str]) -> list[str]:
    return [
        number if count == 1 else f"{number} ×{count}" for number, count in Counter(numbers).items()
    ]


def _what(piece: PieceName) -> str:
    return piece.description or kind_name(piece.kind)


# What is left


def _left_over(plan: DayPlan) -> Iterable[LeftOver]:
    """One group for each reason; later steps of a piece wait with its first one."""
    groups: dict[str, list[LeftPiece]] = {}
    for left in sorted(plan.played.left, key=lambda left: left.code):
        if left.reason != REST:
            known = plan.pieces[left.code]
            note = ""
            if left.until is not None:
                note = wording.until_words(plan.at(left.until), plan.now)
            row = LeftPiece(known.code, known.spoken, _what(known), note)
            groups.setdefault(wording.left_words(left), []).append(row)
    for says, pieces in groups.items():
        yield LeftOver(says, tuple(pieces))
