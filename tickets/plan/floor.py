"""The day plan of this shop: rows in, the day played forward, moments out. Nothing here writes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import groupby

from django.utils.translation import gettext as _

from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.loads.items import LoadItem
from tickets.loads.together import why_not_run
from tickets.loads.waiting import last_out, load_piece
from tickets.models import Load, LoadPiece, Piece, Programme, RouteStep
from tickets.models.machines import LoadState
from tickets.plan.play import play
from tickets.plan.values import MINUTE, Day, Job, Lane, Part, Played, Standing
from tickets.promise.expected import busy_until, open_holds, rail_of
from tickets.promise.queries import shop_capacity
from tickets.promise.tasks import ASSEMBLY
from tickets.shop import drying_places, minutes
from tickets.shop.calendar import ShopCalendar, business_day
from tickets.shop.machine_facts import MachineFacts
from tickets.shop.queries import drying, place_counts, read_calendar, read_machinery
from tickets.tracking import queries

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

    The same number of queries whatever waits. Raises ``Refused`` for a shop that never opens.
    """
    calendar = read_calendar()
    begins = calendar.next_open(_full_minute(now))
    day = business_day(begins)
    window = calendar.opening(day)
    assert window is not None  # next_open found this day open
    floor = _Floor(now, begins, calendar)
    spans = tuple(calendar.spans(day))
    working = tuple(
        (max(0, floor.seconds(start)), floor.seconds(end)) for start, end in spans if end > begins
    )
    played = play(
        Day(
            working,
            shop_capacity(now).crew_at(begins),
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


class _Floor:
    """Everything that waits, with the machines and loads of the shop, read once."""

    def __init__(self, now: datetime, begins: datetime, calendar: ShopCalendar) -> None:
        self.now, self.begins, self.calendar = now, begins, calendar
        self._machinery = {station: read_machinery(station, now) for station in _MACHINE_STATIONS}
        self.machines: dict[str, tuple[MachineFacts, ...]] = {
            station: tuple(replace(machine, free_from=0) for machine in every.in_use)
            for station, every in self._machinery.items()
        }
        self._pieces = list(_open_pieces())

    def seconds(self, at: datetime) -> int:
        return round((at - self.begins).total_seconds())

    def back(self, service: str, at: int) -> int | None:
        found = self.calendar.back(service, self.begins + timedelta(seconds=at))
        return None if found is None else self.seconds(found)

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
        for row in Programme.objects.all():
            rows.setdefault(row.kind, []).append(row)
        return {
            (machine.name, row.key): row.name
            for every in self._machinery.values()
            for machine in every.machines
            for row in rows.get(machine.kind, ())
        }

    def standing(self) -> list[Standing]:
        """Loads that are open already and hold a piece."""
        inside: dict[int, list[str]] = {}
        for piece in self._pieces:
            if (load := _load_of(piece)) is not None:
                inside.setdefault(load.pk, []).append(piece.code)
        every = [load for each in self._machinery.values() for load in each.loads]
        return [self._standing(load, tuple(inside.get(load.pk, ()))) for load in every]

    def _standing(self, load: Load, codes: tuple[str, ...]) -> Standing:
        ends = load.ends_at if load.state == LoadState.RUNNING else None
        over = load.state == LoadState.FINISHED or (ends is not None and ends <= self.begins)
        return Standing(
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

    def _job(self, piece: Piece) -> Job:
        steps = list(piece.steps.all())
        start, away = busy_until(piece, steps, self.now)
        load = _load_of(piece)
        parts = self._parts(piece, [step for step in steps if step.done_at is None], load)
        if away is not None and load is not None and load.is_bag:
            parts = [replace(parts[0], orders=parts[0].orders[1:]), *parts[1:]]
            parts = [part for part in parts if part.orders]
        in_drum = load is not None and not load.is_bag
        holds = open_holds(piece)
        return Job(
            piece.code,
            piece.ticket.number,
            piece.ticket.rush,
            round(piece.promised_at.timestamp()),
            tuple(parts),
            start=0 if in_drum else max(0, self.seconds(start)),
            away=away.station if away is not None else rail_of(steps),
            inside=load.pk if load is not None and in_drum and parts else 0,
            held=holds[0].reason if piece.state == PieceState.HELD and holds else "",
        )

    def _parts(self, piece: Piece, steps: Sequence[RouteStep], load: Load | None) -> list[Part]:
        parts: list[Part] = []
        for _station, visit in groupby(steps, key=lambda step: step.station):
            parts += self._visit(piece, list(visit))
        if load is not None and not load.is_bag and parts:
            # What a load is opened for is done with its run, whatever stands before it.
            ends = next((n for n, part in enumerate(parts) if part.run is not None), 0)
            orders = tuple(order for part in parts[: ends + 1] for order in part.orders)
            parts = [replace(parts[ends], orders=orders), *parts[ends + 1 :]]
        return self._with_due(piece, parts)

    def _visit(self, piece: Piece, steps: list[RouteStep]) -> list[Part]:
        """One stay at a station: hand work, then the machine, then hand work."""
        place = next((n for n, step in enumerate(steps) if self._in_machine(step)), None)
        if place is None:
            return [_hand(steps)]
        after = [step for step in steps[place + 1 :] if step.minutes]
        # What takes nobody's time, such as to cool down, ends with the run.
        passive = [step for step in steps[place + 1 :] if not step.minutes]
        run = [steps[place], *passive]
        planned, never = self._planned(piece, Station(steps[place].station))
        found = [replace(_hand(run), waits=0, run=planned, never=never)]
        if steps[:place]:
            found.insert(0, _hand(steps[:place]))
        if after:
            found.append(_hand(after))
        return found

    def _in_machine(self, step: RouteStep) -> bool:
        if not self.machines.get(step.station):
            return False
        return step.step == "wash" or (
            step.step == "dry" and step.settings.get("method") == "tumble"
        )

    def _planned(self, piece: Piece, station: Station) -> tuple[LoadItem | None, str]:
        """The piece as the load planner sees it there, or why no machine may take it."""
        try:
            found = load_piece(piece, station)
        except Refused as no:
            return None, str(no)
        says = [why_not_run([found], machine) for machine in self.machines[station]]
        never = ""
        if all(says):
            same = len(set(says)) == 1
            never = says[0] if same else _("No machine here has a programme that it allows.")
        # The planner's sentences say the number as people do; the play knows pieces by their code.
        return replace(found, code=piece.code), never

    def _with_due(self, piece: Piece, parts: list[Part]) -> list[Part]:
        """By when each part must be done, so that those after it still fit before the promise.

        What goes to a partner must be out for the last pick-up that brings it back in time.
        """
        found: list[Part] = []
        latest, later = piece.promised_at, ASSEMBLY.crew * MINUTE
        for part in reversed(parts):
            found.insert(0, replace(part, out_by=round(self._open(latest) - later)))
            out = None
            if part.partner:
                out = last_out(part.partner, latest, later / MINUTE, self.calendar)
            if out is None:
                latest -= timedelta(seconds=part.waits)
            else:
                latest, later = out, 0.0
            later += part.crew
        return found

    def _open(self, at: datetime) -> float:
        """Open seconds from the beginning of the plan to a moment; below zero before it."""
        if at >= self.begins:
            return MINUTE * self.calendar.open_minutes(self.begins, at)
        return -MINUTE * self.calendar.open_minutes(at, self.begins)


def _hand(steps: Sequence[RouteStep]) -> Part:
    crew = sum(float(step.minutes) for step in steps)
    partners = [minutes.partner_service(step.step, step.settings) for step in steps]
    return Part(
        steps[0].station,
        tuple(step.order for step in steps),
        tuple(step.step for step in steps),
        max(MINUTE, math.ceil(crew * MINUTE)),
        round(MINUTE * sum(minutes.waits_by_settings(s.step, s.settings) for s in steps)),
        next(filter(None, partners), ""),
        place=next(filter(None, (drying_places.place_for(s.step, s.settings) for s in steps)), ""),
    )


def _load_of(piece: Piece) -> Load | None:
    rows: list[LoadPiece] = getattr(piece, "open_load_rows", [])
    return rows[0].load if rows else None


def _open_pieces() -> Sequence[Piece]:
    """Pieces with work or matching to come: three queries beside their own."""
    found = (
        Piece.objects.filter(state__in=(PieceState.WAITING, PieceState.HELD))
        .select_related("ticket__customer")
        .order_by("code")
    )
    return list(queries.with_plan(found))


__all__ = ["DayPlan", "Lane", "PieceName", "day_plan"]
