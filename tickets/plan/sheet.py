"""The day plan as it is read: rows of stretches in words. The page, its chart and the paper are all
made from this."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby, pairwise

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.choices import Station
from tickets.plan.shop_day import DayPlan, PieceName
from tickets.plan.values import (
    AWAY,
    EMPTY,
    FILL,
    HELD,
    MATCH,
    MINUTE,
    NEVER,
    NO_PLACE,
    NO_TIME,
    NOBODY,
    REST,
    RUN,
    SIBLING,
    Block,
    Lane,
    Left,
)
from tickets.wording import kind_name, promise_words, step_name

TOGETHER, GAP = 60 * MINUTE, 10 * MINUTE
"""Short work of one person stands as one stretch of an hour at the most, without long gaps."""

_SHORT = 4


@dataclass(frozen=True)
class PlannedPiece:
    """A piece in a stretch, with its own minutes in it."""

    code: str
    spoken: str
    what: str
    starts: datetime
    ends: datetime
    late: bool


@dataclass(frozen=True)
class Stretch:
    """What stands as one thing on a row. ``numbers`` are short ticket numbers, the first digits
    left out; ``says`` is what is done."""

    starts: datetime
    ends: datetime
    kind: str
    says: str
    numbers: tuple[str, ...]
    pieces: tuple[PlannedPiece, ...]
    late: bool = False

    @property
    def clock(self) -> str:
        return f"{clock(self.starts)}–{clock(self.ends)}"

    @property
    def count(self) -> str:
        return ngettext("%(n)d piece", "%(n)d pieces", len(self.pieces)) % {"n": len(self.pieces)}


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
        return _("Today's plan") if self.is_today else _("Plan of the day")

    @property
    def day_words(self) -> str:
        return date_format(self.day, "l j F")

    @property
    def from_words(self) -> str:
        return _("From %(clock)s on") % {"clock": clock(self.begins)}

    @property
    def stations(self) -> list[tuple[str, list[PlanRow]]]:
        return [(name, list(rows)) for name, rows in groupby(self.rows, lambda row: row.station)]

    @property
    def any_late(self) -> bool:
        return any(stretch.late for row in self.rows for stretch in row.stretches)

    @property
    def left_count(self) -> int:
        return len({piece.code for group in self.left for piece in group.pieces})


def clock(at: datetime) -> str:
    return date_format(timezone.localtime(at), "H:i")


def plan_sheet(plan: DayPlan) -> PlanSheet:
    """A played day in words. No queries."""
    names = short_numbers({piece.ticket for piece in plan.pieces.values()})
    matched = sorted({block.ticket for block in plan.played.blocks if block.kind == MATCH})
    pauses = tuple((one[1], other[0]) for one, other in pairwise(plan.spans))
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
                _lane_name(lane, lanes),
                lane == lanes[0],
                tuple(_stretches(plan, blocks[lane], names)),
            )


def _lane_name(lane: Lane, beside: Sequence[Lane]) -> str:
    if lane.machine:
        return lane.machine
    if lane.of > 1:
        return _("person %(n)d") % {"n": lane.number}
    return _("crew") if any(other.machine for other in beside) else ""


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
    pieces = tuple(_piece(plan, block, code) for block in blocks for code in block.codes)
    counted = Counter(plan.pieces[piece.code].ticket for piece in pieces)
    numbers = [
        names[ticket] if count == 1 else f"{names[ticket]} ×{count}"
        for ticket, count in counted.items()
    ]
    return Stretch(
        plan.at(blocks[0].start),
        plan.at(blocks[-1].end),
        blocks[0].kind,
        _says(plan, blocks),
        tuple(numbers),
        pieces,
        any(piece.late for piece in pieces),
    )


def _piece(plan: DayPlan, block: Block, code: str) -> PlannedPiece:
    known = plan.pieces[code]
    ends = plan.at(block.end)
    return PlannedPiece(
        code, known.spoken, _what(known), plan.at(block.start), ends, known.promised_at < ends
    )


def _what(piece: PieceName) -> str:
    return piece.description or kind_name(piece.kind)


def _says(plan: DayPlan, blocks: Sequence[Block]) -> str:
    first = blocks[0]
    if first.kind == FILL:
        return _("Fill %(machine)s") % {"machine": first.machine}
    if first.kind == EMPTY:
        return _("Empty, load %(load)d") % {"load": first.load}
    if first.kind == MATCH:
        return _("Match and rack")
    if first.kind == RUN:
        name = plan.programmes.get((first.lane.machine, first.detail), "")
        load = _("load %(load)d") % {"load": first.load} if first.load else ""
        return ", ".join(filter(None, [name, load])) or _("Run")
    steps = dict.fromkeys(name for block in blocks for name in block.names)
    return ", ".join(step_name(step) for step in steps)


# What is left


def _left_over(plan: DayPlan) -> Iterable[LeftOver]:
    """One group for each reason; later steps of a piece wait with its first one."""
    groups: dict[str, list[LeftPiece]] = {}
    for each in sorted(plan.played.left, key=lambda each: each.code):
        if each.reason != REST:
            known = plan.pieces[each.code]
            note = ""
            if each.until is not None:
                note = _("until %(when)s") % {"when": promise_words(plan.at(each.until), plan.now)}
            row = LeftPiece(known.code, known.spoken, _what(known), note)
            groups.setdefault(_why(each), []).append(row)
    for says, pieces in groups.items():
        yield LeftOver(says, tuple(pieces))


def _why(left: Left) -> str:
    if left.reason == HELD:
        return _("On hold: %(reason)s") % {"reason": left.words}
    if left.reason == NEVER:
        return left.words
    if left.reason == SIBLING:
        return _("Done, and waits for the other pieces of its ticket.")
    if left.reason == AWAY:
        return {
            Station.DRY.value: _("Not dry before closing."),
            Station.SEND_OUT.value: _("With the partner."),
        }.get(left.words, _("In the machine until after closing."))
    if left.reason == NO_PLACE:
        return _("No drying place is free before closing.")
    if left.reason == NOBODY:
        return _("Nobody works at %(station)s on this day.") % {
            "station": Station(left.station).label
        }
    assert left.reason == NO_TIME  # the only one that is left
    if left.station == Station.DRY:
        return _("No time before closing at Dry: hang it up meanwhile, wet cloth must not lie.")
    return _("No time before closing at %(station)s.") % {"station": Station(left.station).label}
