"""Open work: every piece that is not ready, as plain values, and the lines it stands in.

``tickets.promise.queries`` reads it, and every answer to "when" is made from it.
"""

from __future__ import annotations

import bisect
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import accumulate

from tickets import numbers
from tickets.choices import PieceState, Station
from tickets.promise.capacity import Capacity, Hours
from tickets.promise.due import Backward, dues
from tickets.promise.tasks import ASSEMBLY, Task

ROOM = 0.15
"""Share of the work due by a promise that has to fit on top of it before other work may come
between: what goes wrong at a station takes about that (chosen by simulation, no source)."""


# What is open


@dataclass(frozen=True)
class OpenTicket:
    number: int
    rush: bool
    promised_at: datetime


@dataclass(frozen=True)
class OpenHold:
    """A question that stops a piece; ``owner`` is the name of the person who asks it."""

    number: int
    reason: str
    owner: str
    ask_again_on: date


@dataclass(frozen=True)
class OpenLoad:
    """The load or bag that a piece is counted into; ``running``: it turns, or is gone."""

    number: int
    bag: bool
    running: bool = False


@dataclass(frozen=True)
class OpenStep:
    """A step still to do. ``order`` and ``name`` as the route has them."""

    order: int
    name: str
    task: Task

    @property
    def in_machine(self) -> bool:
        """Whether a drum does it."""
        return self.name == "wash" or (self.name == "dry" and not self.task.place)


@dataclass(frozen=True)
class OpenPiece:
    """A piece that is not ready: what is still to do, where it is, and from when it goes on.

    ``under_way``: the first of ``steps`` runs in a drum or is with a partner until ``goes_on``.
    ``away`` names the station of that step, or of the last one done (whose rail it may be on);
    ``goes_on`` is the moment it was read for where nothing keeps the piece.
    """

    pk: int
    code: str
    ticket: OpenTicket
    promised_at: datetime
    state: str
    station: str
    grams: int
    steps: tuple[OpenStep, ...]
    goes_on: datetime
    kind: str = ""
    description: str = ""
    away: str = ""
    under_way: bool = False
    load: OpenLoad | None = None
    hold: OpenHold | None = None

    @property
    def spoken(self) -> str:
        return numbers.spoken(self.code)

    @property
    def held(self) -> bool:
        return self.state == PieceState.HELD

    @property
    def steps_left(self) -> tuple[OpenStep, ...]:
        """Without the one that is under way."""
        return self.steps[1:] if self.under_way else self.steps

    @property
    def tasks(self) -> tuple[Task, ...]:
        """What is left to do, matching included."""
        tasks = tuple(step.task for step in self.steps_left)
        return tasks if self.state == PieceState.ASSEMBLED else (*tasks, ASSEMBLY)


Turn = tuple[datetime, bool, int]
"""Sorts work as the crew takes it: by the latest moment at which it may begin, then rush before
ordinary work, then by ticket number."""


def turn_at(begin: datetime, ticket: OpenTicket) -> Turn:
    return begin, not ticket.rush, ticket.number


def turns(piece: OpenPiece, hours: Backward) -> list[Turn]:
    """The turn of each of the piece's ``tasks``."""
    return [turn_at(due.begin, piece.ticket) for due in dues(piece.tasks, piece.promised_at, hours)]


def in_turn(
    pieces: Iterable[OpenPiece], turns_of: Callable[[OpenPiece], Sequence[Turn]]
) -> list[OpenPiece]:
    """Pieces in hand as a station takes them: by turn, what is matched already behind what is not,
    and last what runs in a machine or is gone, for nobody can work on it."""

    def place(piece: OpenPiece) -> tuple[bool, bool, Turn, str]:
        running = piece.load is not None and piece.load.running
        matched = piece.state == PieceState.ASSEMBLED
        turn = next(iter(turns_of(piece)), turn_at(piece.promised_at, piece.ticket))
        return running, matched, turn, piece.code

    return sorted((piece for piece in pieces if not piece.held), key=place)


def entries(
    piece: OpenPiece, piece_turns: Iterable[Turn]
) -> Iterator[tuple[str, Turn, float, float]]:
    """What a piece adds to the lines: station or kind of drying place, its turn there, crew
    minutes (of a place: 1), machine work. The assembly table has no line: it takes each ticket
    when it is whole."""
    for turn, task in zip(piece_turns, piece.tasks, strict=True):
        if task.station != Station.ASSEMBLY:
            yield task.station, turn, task.crew, task.machine
            if task.place:
                yield task.place, turn, 1.0, 0.0


class Lines:
    """The line at each station, and for each kind of drying place, by turn."""

    def __init__(self, pieces: Iterable[tuple[OpenPiece, Iterable[Turn]]]) -> None:
        rows: dict[str, list[tuple[Turn, float, float]]] = {}
        for piece, piece_turns in pieces:
            for name, turn, crew, machine in entries(piece, piece_turns):
                rows.setdefault(name, []).append((turn, crew, machine))
        self._lines = {name: _summed(sorted(row)) for name, row in rows.items()}

    def before(self, name: str, turn: Turn) -> tuple[float, float]:
        """Crew minutes (of a drying place: pieces) and machine work with an earlier turn."""
        if name not in self._lines:
            return 0.0, 0.0
        known_turns, crew, machine = self._lines[name]
        place = bisect.bisect_left(known_turns, turn)
        return crew[place], machine[place]


def _summed(
    line: list[tuple[Turn, float, float]],
) -> tuple[list[Turn], list[float], list[float]]:
    return (
        [turn for turn, _, _ in line],
        list(accumulate((crew for _, crew, _ in line), initial=0.0)),
        list(accumulate((machine for _, _, machine in line), initial=0.0)),
    )


# What a promise is made against


@dataclass(frozen=True)
class Waiting:
    """A piece in the queue: its ticket, that ticket's promise and the tasks still to do."""

    ticket: int
    due: datetime
    tasks: tuple[Task, ...]


class Queue:
    """All work that waits, by promise. The same pieces in any order make the same queue."""

    def __init__(self, waiting: Iterable[Waiting], capacity: Capacity) -> None:
        rows: dict[str, list[tuple[datetime, float, float]]] = {}
        for piece in waiting:
            for task in piece.tasks:
                rows.setdefault(task.station, []).append((piece.due, task.crew, task.machine))
                if task.place in capacity.places:
                    rows.setdefault(task.place, []).append((piece.due, 1.0, 0.0))
        self.capacity = capacity
        self._lines: dict[str, tuple[list[datetime], list[float], list[float]]] = {}
        for station in sorted(rows):
            line = sorted(rows[station])
            self._lines[station] = (
                [due for due, _, _ in line],
                list(accumulate((crew for _, crew, _ in line), initial=0.0)),
                list(accumulate((machine for _, _, machine in line), initial=0.0)),
            )

    def ahead(self, due_by: datetime | None = None) -> dict[str, float]:
        """Open minutes of work at each station that is due by then (None: all of it), and the
        pieces due by then for each kind of drying place."""
        minutes_ahead = {}
        for station, (promises, crew, machine) in self._lines.items():
            place = len(promises) if due_by is None else bisect.bisect_right(promises, due_by)
            minutes_ahead[station] = self.capacity.minutes(station, crew[place], machine[place])
        return minutes_ahead

    def in_need(self, more: Mapping[str, float], now: datetime, hours: Hours) -> datetime | None:
        """The latest promise in the queue that could not spare these open minutes more.

        A promise can spare them when all work due by it fits before it at each station that has
        more to do, with ``ROOM`` on top. None: all can. Whether a promise can be kept without the
        addition is not asked: so more capacity never moves the answer later. Drying places are
        left out: the forecast has them.
        """
        latest: datetime | None = None
        for station in sorted((more.keys() & self._lines.keys()) - self.capacity.places.keys()):
            promises, crew, machine = self._lines[station]
            place = len(promises)
            while place and (latest is None or promises[place - 1] > latest):
                work = self.capacity.minutes(station, crew[place], machine[place]) + more[station]
                due = promises[place - 1]
                if self.capacity.done(station, now, work * (1 + ROOM), hours) > due:
                    latest = due
                place = bisect.bisect_left(promises, due)
        return latest
