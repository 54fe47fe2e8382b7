"""When each open ticket can be expected, from the engine that makes the promises.

A ticket's remaining route meets the lines of now: at each station, what may begin no later than
its own work there goes before it. A piece on hold stands in nobody's way, since it waits for an
answer; its own ticket is reckoned as if the answer came now. A piece in a drum, on a rail or with
a partner goes on when that is over.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property

from tickets.choices import Station
from tickets.promise.capacity import Capacity
from tickets.promise.engine import Forecast, forecast
from tickets.promise.queue import Lines, OpenHold, OpenPiece, OpenTicket, Turn, entries, turns
from tickets.promise.tasks import Task
from tickets.shop.calendar import ShopCalendar


@dataclass(frozen=True)
class Expected:
    """``at`` in UTC: ready, if nothing unforeseen happens. ``holds_up``: the station that costs
    most on the way of the last piece; ``full_until``: when the line before it there is through.
    With a ``hold``, ``at`` counts from an answer that comes now."""

    ticket: OpenTicket
    at: datetime
    holds_up: str = ""
    full_until: datetime | None = None
    hold: OpenHold | None = None

    @property
    def after(self) -> timedelta:
        """How long after the promise; below zero it is before it."""
        return self.at - self.ticket.promised_at


@dataclass(frozen=True)
class Case:
    """A ticket with its pieces that are not ready, and the turns of each piece's tasks."""

    ticket: OpenTicket
    pieces: tuple[OpenPiece, ...]
    turns: tuple[tuple[Turn, ...], ...]

    @property
    def hold(self) -> OpenHold | None:
        """The question to be asked first."""
        holds = [piece.hold for piece in self.pieces if piece.hold is not None]
        return min(holds, key=lambda hold: (hold.ask_again_on, hold.number), default=None)

    @property
    def routes(self) -> list[tuple[Task, ...]]:
        return [piece.tasks for piece in self.pieces]

    @property
    def stations(self) -> list[str]:
        return sorted({task.station for route in self.routes for task in route})

    def in_line(self) -> Iterator[tuple[OpenPiece, tuple[Turn, ...]]]:
        """Its pieces that can be worked on, with their turns."""
        for piece, piece_turns in zip(self.pieces, self.turns, strict=True):
            if not piece.held:
                yield piece, piece_turns

    def last_turns(self) -> dict[str, Turn]:
        """Station or kind of drying place -> the turn of the last of its pieces to come there."""
        last: dict[str, Turn] = {}
        for piece, piece_turns in zip(self.pieces, self.turns, strict=True):
            first: dict[str, Turn] = {}
            for task, turn in zip(piece.tasks, piece_turns, strict=True):
                for name in filter(None, (task.station, task.place)):
                    first.setdefault(name, turn)
            last |= {name: max(turn, last.get(name, turn)) for name, turn in first.items()}
        return last


_NOTHING = 1e-6
"""Minutes that are left of a sum taken away from itself."""


class WorkAhead:
    """Crew minutes and machine work at each station, and pieces for each kind of drying place."""

    def __init__(self) -> None:
        self.crew: dict[str, float] = defaultdict(float)
        self.machine: dict[str, float] = defaultdict(float)

    def add(self, name: str, crew: float, machine: float) -> None:
        self.crew[name] += crew
        self.machine[name] += machine

    def add_routes(self, routes: Iterable[Iterable[Task]]) -> None:
        """The assembly table is left out: no line stands before it."""
        for task in (task for route in routes for task in route):
            if task.station != Station.ASSEMBLY:
                self.add(task.station, task.crew, task.machine)
                if task.place:
                    self.add(task.place, 1.0, 0.0)

    def minutes(self, capacity: Capacity) -> dict[str, float]:
        """Open minutes that it takes at each station where there is any, and the pieces of each
        kind of place."""
        return {
            name: capacity.minutes(name, crew, self.machine[name])
            for name, crew in self.crew.items()
            if max(crew, self.machine[name]) > _NOTHING
        }


class Outlook:
    """Every open ticket that is not ready, and when it and each of its pieces can be expected: a
    ticket is reckoned when it is asked for, once. Raises ``Refused`` for a shop that never opens.
    """

    def __init__(
        self,
        now: datetime,
        pieces: Iterable[OpenPiece],
        calendar: ShopCalendar,
        capacity: Capacity,
        round_minutes: float,
        turns_of: Callable[[OpenPiece], Sequence[Turn]] | None = None,
    ) -> None:
        """``turns_of`` gives turns that are known already."""
        self.now, self.calendar, self.capacity = now, calendar, capacity
        self.round_minutes = round_minutes
        calendar.next_open(now)  # nothing can be expected where nobody works
        self._turns_of = turns_of or (lambda piece: turns(piece, calendar))
        by_ticket: dict[int, list[OpenPiece]] = defaultdict(list)
        for piece in pieces:
            by_ticket[piece.ticket.number].append(piece)
        self.cases = {number: self.case_of(by_ticket[number]) for number in sorted(by_ticket)}
        self.lines = Lines(
            (piece, piece_turns)
            for case in self.cases.values()
            for piece, piece_turns in case.in_line()
        )
        self._number_of = {
            piece.pk: number for number, case in self.cases.items() for piece in case.pieces
        }
        self._known: dict[int, tuple[Expected, dict[int, datetime]]] = {}

    def case_of(self, pieces: Sequence[OpenPiece]) -> Case:
        every = tuple(tuple(self._turns_of(piece)) for piece in pieces)
        return Case(pieces[0].ticket, tuple(pieces), every)

    def expected(self, number: int) -> Expected:
        """Of an open ticket."""
        return self._reckoned(number)[0]

    def piece_ready(self, key: int) -> datetime | None:
        """When the piece with this key is expected; None where nothing is left to expect of it."""
        number = self._number_of.get(key)
        return None if number is None else self._reckoned(number)[1][key]

    def pieces_anew(self, pieces: Sequence[OpenPiece]) -> dict[int, datetime]:
        """When each piece of one ticket is expected, by its key, as they are now: the lines stand
        as they were read. Nothing is kept of it."""
        return self._reckon(self.case_of(pieces))[1]

    @cached_property
    def tickets(self) -> dict[int, Expected]:
        """What is expected of every ticket, by number."""
        return {number: self.expected(number) for number in self.cases}

    @cached_property
    def pieces(self) -> dict[int, datetime]:
        """When every piece is expected, by its key."""
        return {key: self._reckoned(number)[1][key] for key, number in self._number_of.items()}

    def late(self) -> list[Expected]:
        """Tickets whose promise is past, oldest first."""
        every = sorted(self.tickets.values(), key=_by_promise)
        return [ticket for ticket in every if ticket.ticket.promised_at < self.now]

    def at_risk(self) -> list[Expected]:
        """Tickets whose promise is to come, and that are expected after it; oldest first."""
        every = sorted(self.tickets.values(), key=_by_promise)
        return [ticket for ticket in every if self.now <= ticket.ticket.promised_at < ticket.at]

    def before(self, case: Case) -> WorkAhead:
        """What goes before a ticket at each station on its way, its own pieces left out."""
        work, last = WorkAhead(), case.last_turns()
        for name, turn in last.items():
            work.add(name, *self.lines.before(name, turn))
        for piece, piece_turns in case.in_line():
            for name, turn, crew, machine in entries(piece, piece_turns):
                if turn < last[name]:
                    work.add(name, -crew, -machine)
        return work

    def ready(
        self,
        case: Case,
        ahead: Mapping[str, float],
        calendar: ShopCalendar | None = None,
        *,
        rounds: bool = True,
        capacity: Capacity | None = None,
    ) -> Forecast:
        """The engine's forecast for a ticket, with this much open work before it; with another
        calendar or capacity than the shop's, where those are given."""
        foreseen = forecast(
            case.routes,
            self.now,
            calendar or self.calendar,
            capacity or self.capacity,
            ahead,
            self.round_minutes if rounds else 0.0,
            [piece.goes_on for piece in case.pieces],
        )
        # What only has to be hung up waits for people all the same.
        there = foreseen.at if any(case.routes) else self.calendar.next_open(self.now)
        return replace(foreseen, at=max(foreseen.at, there))

    def _reckoned(self, number: int) -> tuple[Expected, dict[int, datetime]]:
        if number not in self._known:
            self._known[number] = self._reckon(self.cases[number])
        return self._known[number]

    def _reckon(self, case: Case) -> tuple[Expected, dict[int, datetime]]:
        foreseen = self.ready(case, self.before(case).minutes(self.capacity))
        pieces = dict(zip([piece.pk for piece in case.pieces], foreseen.each, strict=True))
        # Where a drum, a rail or a partner takes most of the time, no line is what it waits for.
        last = max(case.pieces, key=lambda piece: piece.goes_on)
        station, until = foreseen.hangs_on, foreseen.full_until
        if last.goes_on > self.now:
            goes_on = self.calendar.next_open(last.goes_on)
            if goes_on - self.now > (foreseen.at - self.now) / 2:
                station, until = last.away, None
        expected = Expected(case.ticket, max(foreseen.at, self.now), station, until, case.hold)
        return expected, pieces


def _by_promise(expected: Expected) -> tuple[datetime, int]:
    return expected.ticket.promised_at, expected.ticket.number
