"""The day plan of this shop: rows in, the day played forward, moments out. Nothing here writes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import groupby

from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.loads.items import LoadItem
from tickets.loads.planned_pieces import load_piece
from tickets.loads.queries import pieces_for_drums
from tickets.loads.together import why_not_run
from tickets.loads.wording.company import no_machine_words
from tickets.models import Load, Programme
from tickets.models.machines import LoadState
from tickets.plan.play import play
from tickets.plan.values import MINUTE, Day, Job, Lane, Part, Played, StandingLoad
from tickets.promise.due import Due, dues
from tickets.promise.open_work import OpenWork, open_work
from tickets.promise.queue import OpenPiece, OpenStep
from tickets.promise.tasks import ASSEMBLY
from tickets.shop.calendar import business_day
from tickets.shop.machine_facts import MachineFacts
from tickets.shop.queries import all_programmes, drying, place_counts, read_machinery

_MACHINE_STATIONS = (Station.WASH, Station.DRY)


@dataclass(frozen=True)
class PieceName:
    """What the plan's pages say of a piece."""

    code: str
    spoken: str
    ticket: int
    kind: str
    description: str
    promised_at: datetime
    rush: bool


@dataclass(frozen=True)
class DayPlan:
    """A day as it is expected to go from ``begins`` on: now, or the next opening.

    ``spans`` are the stretches in which people work. ``programmes``: (machine, key) -> name.
    """

    day: date
    now: datetime
    begins: datetime
    opens: datetime
    closes: datetime
    spans: tuple[tuple[datetime, datetime], ...]
    played: Played
    pieces: Mapping[str, PieceName] = field(default_factory=dict)
    programmes: Mapping[tuple[str, str], str] = field(default_factory=dict)

    @property
    def is_today(self) -> bool:
        return self.day == business_day(self.now)

    def at(self, seconds: int) -> datetime:
        """The moment of a second of the play."""
        return self.begins + timedelta(seconds=seconds)


def day_plan(now: datetime) -> DayPlan:
    """Today's plan from now on; after closing, or on a closed day, that of the next open day.

    Played once for all who ask while nothing changes. The same number of queries whatever waits.
    Raises ``Refused`` for a shop that never opens.
    """
    return _played(open_work(now))


@lru_cache(maxsize=1)
def _played(work: OpenWork) -> DayPlan:
    now, calendar = work.now, work.calendar
    begins = calendar.next_open(_full_minute(now))
    day = business_day(begins)
    window = calendar.opening(day)
    assert window is not None  # next_open found this day open
    floor = _Floor(work, now, begins)
    spans = tuple(calendar.spans(day))
    working = tuple(
        (max(0, floor.seconds(start)), floor.seconds(end)) for start, end in spans if end > begins
    )
    played = play(
        Day(
            working,
            work.capacity.crew_at(begins),
            floor.machines,
            floor.back,
            round(ASSEMBLY.crew * MINUTE),
            place_counts(),
            {
                kind: [floor.seconds(until) for until in every]
                for kind, every in drying(now).items()
            },
        ),
        floor.jobs(),
        floor.standing(),
    )
    return DayPlan(day, now, begins, *window, spans, played, floor.names(), floor.programme_names())


def _full_minute(at: datetime) -> datetime:
    """The next full minute: nobody plans in seconds."""
    return at + timedelta(seconds=-at.second % MINUTE, microseconds=-at.microsecond)


_Timed = tuple[OpenStep, Due]


class _Floor:
    """Everything that waits, with the machines and loads of the shop, read once."""

    def __init__(self, work: OpenWork, now: datetime, begins: datetime) -> None:
        self.now, self.begins, self.calendar = now, begins, work.calendar
        self._machinery = {station: read_machinery(station, now) for station in _MACHINE_STATIONS}
        self.machines: dict[str, tuple[MachineFacts, ...]] = {
            station: tuple(replace(machine, free_from=0) for machine in every.in_use)
            for station, every in self._machinery.items()
        }
        states = PieceState.WAITING, PieceState.HELD
        self._pieces = sorted(
            (piece for piece in work.pieces if piece.state in states),
            key=lambda piece: piece.code,
        )
        self._for_drums = pieces_for_drums(
            piece.pk
            for piece in self._pieces
            if any(self._in_machine(step) for step in piece.steps)
        )

    def seconds(self, at: datetime) -> int:
        return round((at - self.begins).total_seconds())

    def back(self, service: str, at: int) -> int | None:
        moment = self.calendar.back(service, self.begins + timedelta(seconds=at))
        return None if moment is None else self.seconds(moment)

    def names(self) -> dict[str, PieceName]:
        return {
            piece.code: PieceName(
                piece.code,
                piece.spoken,
                piece.ticket.number,
                piece.kind,
                piece.description,
                piece.promised_at,
                piece.ticket.rush,
            )
            for piece in self._pieces
        }

    def programme_names(self) -> dict[tuple[str, str], str]:
        rows: dict[str, list[Programme]] = {}
        for row in all_programmes():
            rows.setdefault(row.kind, []).append(row)
        return {
            (machine.name, row.key): row.name
            for every in self._machinery.values()
            for machine in every.machines
            for row in rows.get(machine.kind, ())
        }

    def standing(self) -> list[StandingLoad]:
        """Loads that are open already and hold a piece."""
        inside: dict[int, list[str]] = {}
        for piece in self._pieces:
            if piece.load is not None:
                inside.setdefault(piece.load.number, []).append(piece.code)
        every = [load for machinery in self._machinery.values() for load in machinery.loads]
        return [self._standing(load, tuple(inside.get(load.pk, ()))) for load in every]

    def _standing(self, load: Load, codes: tuple[str, ...]) -> StandingLoad:
        ends = load.ends_at if load.state == LoadState.RUNNING else None
        over = load.state == LoadState.FINISHED or (ends is not None and ends <= self.begins)
        return StandingLoad(
            load.pk,
            load.station,
            load.machine.name if load.machine else "",
            load.programme.key if load.programme else "",
            load.minutes * MINUTE,
            codes,
            begun=self.seconds(load.started_at) if load.started_at else 0,
            ends=None if over or ends is None else self.seconds(ends),
            over=over,
        )

    def jobs(self) -> list[Job]:
        return [self._job(piece) for piece in self._pieces]

    def _job(self, piece: OpenPiece) -> Job:
        load = piece.load
        parts = self._parts(piece)
        if piece.under_way and load is not None and load.bag:
            parts = [replace(parts[0], orders=parts[0].orders[1:]), *parts[1:]]
            parts = [part for part in parts if part.orders]
        in_drum = load is not None and not load.bag
        return Job(
            piece.code,
            piece.ticket.number,
            piece.ticket.rush,
            self.seconds(piece.promised_at),
            tuple(parts),
            start=0 if in_drum else max(0, self.seconds(piece.goes_on)),
            away=piece.away,
            inside=load.number if load is not None and in_drum and parts else 0,
            held=piece.hold.reason if piece.held and piece.hold else "",
        )

    def _parts(self, piece: OpenPiece) -> list[Part]:
        tasks = [step.task for step in piece.steps]
        due = dues([*tasks, ASSEMBLY], piece.promised_at, self.calendar)
        parts: list[Part] = []
        steps = zip(piece.steps, due, strict=False)
        for _station, visit in groupby(steps, key=lambda pair: pair[0].task.station):
            parts += self._visit(piece, list(visit))
        if piece.load is not None and not piece.load.bag and parts:
            # What a load is opened for is done with its run, whatever stands before it.
            ends = next((n for n, part in enumerate(parts) if part.run is not None), 0)
            orders = tuple(order for part in parts[: ends + 1] for order in part.orders)
            parts = [replace(parts[ends], orders=orders), *parts[ends + 1 :]]
        return parts

    def _visit(self, piece: OpenPiece, steps: list[_Timed]) -> list[Part]:
        """One stay at a station: hand work, then the machine, then hand work."""
        place = next((n for n, (step, _due) in enumerate(steps) if self._in_machine(step)), None)
        if place is None:
            return [self._hand(steps)]
        after = [timed for timed in steps[place + 1 :] if timed[0].task.crew]
        # What takes nobody's time, such as to cool down, ends with the run.
        passive = [timed for timed in steps[place + 1 :] if not timed[0].task.crew]
        machine, due = steps[place]
        planned, never = self._planned(piece, Station(machine.task.station))
        run = replace(
            self._hand([steps[place], *passive]),
            waits=0,
            out_by=self._open(due.out),
            run=planned,
            never=never,
        )
        before = [self._hand(steps[:place])] if steps[:place] else []
        return [*before, run, *([self._hand(after)] if after else [])]

    def _in_machine(self, step: OpenStep) -> bool:
        return bool(self.machines.get(step.task.station)) and step.in_machine

    def _planned(self, piece: OpenPiece, station: Station) -> tuple[LoadItem | None, str]:
        """The piece as the load planner sees it there, or why no machine may take it."""
        try:
            item = load_piece(self._for_drums[piece.pk], station)
        except Refused as no:
            return None, str(no)
        says = [why_not_run([item], machine) for machine in self.machines[station]]
        never = no_machine_words(says) if all(says) else ""
        # The planner's sentences say the number as people do; the play knows pieces by their code.
        return replace(item, code=piece.code), never

    def _hand(self, steps: Sequence[_Timed]) -> Part:
        tasks = [step.task for step, _due in steps]
        return Part(
            tasks[0].station,
            tuple(step.order for step, _due in steps),
            tuple(step.name for step, _due in steps),
            max(MINUTE, math.ceil(MINUTE * sum(task.crew for task in tasks))),
            round(MINUTE * sum(task.waits for task in tasks)),
            next((task.partner for task in tasks if task.partner), ""),
            begin_by=self.seconds(steps[0][1].begin),
            out_by=self._open(steps[-1][1].out),
            place=next((task.place for task in tasks if task.place), ""),
        )

    def _open(self, at: datetime) -> int:
        """Open seconds from the beginning of the plan to a moment; below zero before it."""
        if at >= self.begins:
            return round(MINUTE * self.calendar.open_minutes(self.begins, at))
        return -round(MINUTE * self.calendar.open_minutes(at, self.begins))


__all__ = ["DayPlan", "Lane", "PieceName", "day_plan"]
