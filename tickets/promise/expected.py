"""When each open ticket can be expected, from the engine that makes the promises.

A ticket's remaining route meets the queue of now: what goes before it is all rush work (for a
rush ticket: the rush work promised before its own), then the ordinary work promised before its
own. A piece on hold stands in nobody's way, since it waits for an answer; its own ticket is
reckoned as if the answer came now. A piece in a drum, on a rail or with a partner goes on when
that is over.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from tickets.choices import CLOSED_STATES, PieceState
from tickets.models import Hold, Piece, RouteStep, Ticket
from tickets.models.machines import IN_MACHINE, LoadState
from tickets.promise.capacity import Capacity
from tickets.promise.engine import Forecast, forecast
from tickets.promise.queries import shop_capacity
from tickets.promise.tasks import ASSEMBLY, Task, task_of
from tickets.shop import minutes as workloads
from tickets.shop.calendar import ShopCalendar
from tickets.shop.queries import read_calendar
from tickets.tracking import queries

Order = tuple[bool, datetime, int]
"""Sorts work as the crew takes it: rush first, then by promise, then by number."""


@dataclass(frozen=True)
class Expected:
    """``at`` in UTC: ready, if nothing unforeseen happens. ``holds_up``: the station that costs
    most on the way of the last piece; ``full_until``: when the queue before it there is through.
    With a ``hold``, ``at`` counts from an answer that comes now."""

    ticket: Ticket
    at: datetime
    holds_up: str = ""
    full_until: datetime | None = None
    hold: Hold | None = None

    @property
    def after(self) -> timedelta:
        """How long after the promise; below zero it is before it."""
        return self.at - self.ticket.promised_at


@dataclass(frozen=True)
class Way:
    """A piece's work left, by its key: where it stands now, and from when it can go on."""

    piece: int
    start: datetime
    tasks: tuple[Task, ...]
    station: str
    held: bool = False


@dataclass(frozen=True)
class Case:
    """A ticket with the ways of its pieces that are not ready."""

    ticket: Ticket
    ways: tuple[Way, ...]
    hold: Hold | None = None

    @property
    def order(self) -> Order:
        return order_of(self.ticket)

    @property
    def routes(self) -> list[tuple[Task, ...]]:
        return [way.tasks for way in self.ways]


class Work:
    """Crew minutes and machine work at each station, added up."""

    def __init__(self) -> None:
        self.crew: dict[str, float] = defaultdict(float)
        self.machine: dict[str, float] = defaultdict(float)

    def add(self, case: Case) -> None:
        for way in case.ways:
            for task in way.tasks:
                # The table takes each ticket when it is whole: no queue stands before it.
                if not way.held and task is not ASSEMBLY:
                    self.crew[task.station] += task.crew
                    self.machine[task.station] += task.machine
                    if task.place:
                        self.crew[task.place] += 1.0

    def minutes(self, capacity: Capacity, stations: Iterable[str]) -> dict[str, float]:
        """Open minutes that it takes at each of these stations, and the pieces that it brings to
        each kind of drying place."""
        return {
            station: capacity.minutes(station, self.crew[station], self.machine[station])
            for station in (*stations, *capacity.places)
            if station in self.crew
        }


def order_of(ticket: Ticket, *, rush: bool = False) -> Order:
    return (not (ticket.rush or rush), ticket.promised_at, ticket.number)


class Outlook:
    """Every open ticket that is not ready, with its expected time, and that of each of its pieces
    that is not ready by the piece's key.

    The same number of queries whatever waits. Raises ``Refused`` for a shop that never opens.
    """

    def __init__(self, now: datetime) -> None:
        self.now = now
        self.calendar = read_calendar()
        self.capacity = shop_capacity(now)
        self.round_minutes = workloads.round_minutes()
        self.cases = {case.ticket.number: case for case in sorted(_cases(now), key=by_order)}
        self.tickets: dict[int, Expected] = {}
        self.pieces: dict[int, datetime] = {}
        before = Work()
        for number, case in self.cases.items():
            self.tickets[number] = self._expected(case, before)
            before.add(case)

    def late(self) -> list[Expected]:
        """Tickets whose promise is past, oldest first."""
        every = sorted(self.tickets.values(), key=_by_promise)
        return [each for each in every if each.ticket.promised_at < self.now]

    def at_risk(self) -> list[Expected]:
        """Tickets whose promise is to come, and that are expected after it; oldest first."""
        every = sorted(self.tickets.values(), key=_by_promise)
        return [each for each in every if self.now <= each.ticket.promised_at < each.at]

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
        starts: Sequence[datetime] = [way.start for way in case.ways]
        found = forecast(
            case.routes,
            self.now,
            calendar or self.calendar,
            capacity or self.capacity,
            ahead,
            self.round_minutes if rounds else 0.0,
            starts,
        )
        # What only has to be hung up waits for people all the same.
        there = found.at if any(case.routes) else self.calendar.next_open(self.now)
        return replace(found, at=max(found.at, there))

    def _expected(self, case: Case, before: Work) -> Expected:
        ahead = before.minutes(self.capacity, stations_of(case))
        found = self.ready(case, ahead)
        self.pieces.update(zip([way.piece for way in case.ways], found.each, strict=True))
        # Where a drum, a rail or a partner takes most of the time, no queue is what it waits for.
        last = max(case.ways, key=lambda way: way.start, default=None)
        station, until = found.hangs_on, found.full_until
        if last is not None and last.start > self.now:
            goes_on = self.calendar.next_open(last.start)
            if goes_on - self.now > (found.at - self.now) / 2:
                station, until = last.station, None
        return Expected(case.ticket, max(found.at, self.now), station, until, case.hold)


def stations_of(case: Case) -> list[str]:
    return sorted({task.station for way in case.ways for task in way.tasks})


def by_order(case: Case) -> Order:
    return case.order


def _by_promise(expected: Expected) -> tuple[datetime, int]:
    return expected.ticket.promised_at, expected.ticket.number


# From the rows


def _cases(now: datetime) -> list[Case]:
    pieces = (
        Piece.objects.filter(ticket__ready_at__isnull=True, ticket__closed_at__isnull=True)
        .exclude(state__in=CLOSED_STATES)
        .select_related("ticket__customer")
        .defer("facts", "inspection", "decision")
        .order_by("ticket_id", "position")
    )
    tickets: dict[int, list[Piece]] = defaultdict(list)
    for piece in queries.with_plan(pieces):
        tickets[piece.ticket_id].append(piece)
    return [_case(every, now) for every in tickets.values()]


def _case(pieces: Sequence[Piece], now: datetime) -> Case:
    holds = [hold for piece in pieces for hold in open_holds(piece)]
    return Case(
        pieces[0].ticket,
        tuple(_way(piece, now) for piece in pieces if piece.state != PieceState.READY),
        min(holds, key=lambda hold: (hold.ask_again_on, hold.pk), default=None),
    )


def open_holds(piece: Piece) -> list[Hold]:
    found: list[Hold] = getattr(piece, "open_holds", [])
    return found


def _way(piece: Piece, now: datetime) -> Way:
    steps = list(piece.steps.all())
    left = [step for step in steps if step.done_at is None]
    start, away = busy_until(piece, steps, now)
    if away is not None:
        left.remove(away)
    tasks = [
        task_of(step.station, step.step, step.minutes, step.settings, piece.weight_g)
        for step in left
    ]
    if piece.state != PieceState.ASSEMBLED:
        tasks.append(ASSEMBLY)
    station = away.station if away else rail_of(steps)
    return Way(piece.pk, start, tuple(tasks), station, held=piece.state == PieceState.HELD)


def rail_of(steps: Sequence[RouteStep]) -> str:
    """The station of the piece's last work, where it hangs or lies until it is dry."""
    return next((str(step.station) for step in reversed(steps) if step.done_at is not None), "")


def busy_until(
    piece: Piece, steps: Sequence[RouteStep], now: datetime
) -> tuple[datetime, RouteStep | None]:
    """From when the piece can go on, and the open step that ends then (None: no step does).

    It may be in a drum or with a partner by an open load, or on the rail where its last step
    hung it up.
    """
    load = next((row.load for row in getattr(piece, "open_load_rows", [])), None)
    first = next((step for step in steps if step.done_at is None), None)
    if load is not None and first is not None and load.state in IN_MACHINE:
        ends = load.ends_at if load.state == LoadState.RUNNING else None
        return max(now, ends or now), first
    done = [step for step in steps if step.done_at is not None]
    if done and done[-1].step == "dry" and done[-1].settings.get("method") != "tumble":
        last = done[-1]
        assert last.done_at is not None  # it is among those done
        rail = timedelta(minutes=workloads.waits_by_settings(last.step, last.settings))
        return max(now, last.done_at + rail), None
    return now, None
