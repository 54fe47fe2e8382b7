"""What a day plan is made from and what it says: small frozen values without database or clock.

Times inside the play are whole seconds from the moment at which the plan begins.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from tickets.loads.items import LoadItem
from tickets.loads.runs import Run
from tickets.shop.machine_facts import MachineFacts

MINUTE = 60

WORK, FILL, RUN, EMPTY, MATCH = "work", "fill", "run", "empty", "match"
"""Kinds of block: a person's work, filling a machine, its run, emptying it, matching a ticket."""


Rank = tuple[int, bool, str]


@dataclass(frozen=True)
class Part:
    """Steps of a piece that follow each other at one station.

    ``crew``: seconds of one person. ``waits``: seconds that pass after it without anybody;
    ``partner``: what it goes to a partner for, whose days then count. ``run``: the piece as the
    load planner sees it, where the work is a machine's, and ``out_by`` the open second by which it
    must be out. ``begin_by``: the latest second at which it may begin (below zero: before the
    plan). ``never``: why it can't be done as things stand. ``place``: the kind of drying
    place it hangs or lies on while it ``waits``.
    """

    station: str
    orders: tuple[int, ...]
    names: tuple[str, ...]
    crew: int
    waits: int = 0
    partner: str = ""
    run: LoadItem | None = None
    begin_by: int = 0
    out_by: int = 0
    never: str = ""
    place: str = ""


@dataclass(frozen=True)
class Job:
    """A piece with its work left. ``start``: when it can go on, and until then it is ``away`` on
    the rail or with the partner of that station. ``inside``: the load it is in, of
    which its first part is done.

    ``due`` is the second of its promise. ``held`` says why it stands still.
    """

    code: str
    ticket: int
    rush: bool
    due: int
    parts: tuple[Part, ...]
    start: int = 0
    away: str = ""
    inside: int = 0
    held: str = ""

    def rank(self, place: int) -> Rank:
        """The crew's order for the part at that place (after the last one: for matching): what may
        wait least first, rush before ordinary work, then the number."""
        begin = self.parts[place].begin_by if place < len(self.parts) else self.due
        return (begin, not self.rush, self.code)


@dataclass(frozen=True)
class StandingLoad:
    """A load that is open already. It runs from ``begun`` (below zero: before the plan) to
    ``ends``; without ``ends`` it waits for its machine. ``over``: it only has to be emptied."""

    number: int
    station: str
    machine: str
    programme: str
    seconds: int
    codes: tuple[str, ...]
    begun: int = 0
    ends: int | None = None
    over: bool = False


@dataclass(frozen=True)
class Day:
    """The working time of one day, as stretches of seconds, and who and what works in it.

    ``people``: how many at each station (1 where nothing is said). ``machines`` by station.
    ``back``: when a piece packed at this second for a partner is back (None: nobody takes it).
    ``places``: kind of drying place -> how many (no entry: never short); ``drying``: kind -> the
    seconds at which what hangs or lies there already is dry.
    """

    spans: tuple[tuple[int, int], ...]
    people: Mapping[str, float] = field(default_factory=dict)
    machines: Mapping[str, tuple[MachineFacts, ...]] = field(default_factory=dict)
    back: Callable[[str, int], int | None] = lambda _service, _at: None
    matching: int = 10 * MINUTE
    places: Mapping[str, int] = field(default_factory=dict)
    drying: Mapping[str, Sequence[int]] = field(default_factory=dict)

    @property
    def closes(self) -> int:
        return self.spans[-1][1]

    def begin_at(self, at: int) -> int:
        """The first working second at or after this one (the day's end where there is none)."""
        starts = (max(at, start) for start, end in self.spans if end > at)
        return next(starts, self.closes)

    def end_of(self, at: int, seconds: int) -> int | None:
        """When work begun then is done, breaks left out; None where the day is too short."""
        left = seconds
        for start, end in self.spans:
            begin = max(at, start)
            if begin >= end:
                continue
            if begin + left <= end:
                return begin + left
            left -= end - begin
        return None


@dataclass(frozen=True)
class Lane:
    """One row of the plan: a machine, or one person's place at a station (numbered from 1).

    ``pace``: how fast a person there works who has only part of the day for it.
    """

    station: str
    number: int = 0
    machine: str = ""
    of: int = 1
    pace: float = 1.0


@dataclass(frozen=True)
class Block:
    """Something done on one lane from ``start`` to ``end``. ``steps``: (piece, order of the step)
    that end with it. ``detail``: a programme; ``machine``: the machine that is filled."""

    lane: Lane
    kind: str
    start: int
    end: int
    codes: tuple[str, ...]
    steps: tuple[tuple[str, int], ...] = ()
    names: tuple[str, ...] = ()
    detail: str = ""
    machine: str = ""
    load: int = 0
    ticket: int = 0


HELD, AWAY, NEVER, NO_PLACE, NOBODY, NO_TIME, REST, SIBLING = (
    "held",
    "away",
    "never",
    "no_place",
    "nobody",
    "no_time",
    "rest",
    "sibling",
)
"""Why work is left: a question is open; it is in a drum, on a rail or away; nothing here can do
it; no drying place is free before closing; nobody works there that day; no time before closing;
its earlier work is left; another piece of its ticket is not through."""


@dataclass(frozen=True)
class Left:
    """Work of a piece that the day does not reach. ``until``: when it comes back or is dry."""

    code: str
    ticket: int
    station: str
    orders: tuple[int, ...]
    reason: str
    words: str = ""
    until: int | None = None


@dataclass(frozen=True)
class Played:
    """The day as played: every lane in the order of the route, its blocks, and what is left."""

    lanes: tuple[Lane, ...]
    blocks: tuple[Block, ...]
    left: tuple[Left, ...] = ()


@dataclass(frozen=True)
class DrumFill:
    """A load that a person could begin to fill now."""

    rank: Rank
    run: Run
    lane: Lane
    jobs: tuple[Job, ...]
    filled: int
    start: int
    end: int
