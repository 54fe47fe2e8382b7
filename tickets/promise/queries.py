"""What the promise asks the database: what the shop can do, and what is open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import NamedTuple

from django.utils import timezone

from care_rules import Settings
from tickets.choices import PieceState, Station
from tickets.models import Hold, LoadPiece, Machine, Piece, Programme, RouteStep
from tickets.models.machines import DRYING_PLACES, IN_MACHINE, ONE_PERSON, LoadState
from tickets.promise.capacity import Capacity, Spell
from tickets.promise.queue import OpenHold, OpenLoad, OpenPiece, OpenStep, OpenTicket
from tickets.promise.step_tasks import task_of
from tickets.shop import machines
from tickets.shop import minutes as workloads
from tickets.shop.calendar import business_day, start_of
from tickets.shop.crews import Crews
from tickets.shop.queries import crews_since, places_now

USUAL_FILL = 0.75
"""How full runs go on average; planning figure, common trade practice."""


def shop_capacity(now: datetime | None = None, *, since: date | None = None) -> Capacity:
    """People of each station, litres of drum that its machines turn over in a minute, the days
    from ``since`` on (that of ``now``) that have another crew, and when each drying place is free.

    A shop that told us no machines or drying places is not held up by any. At the press no more
    people work than there are presses and ironers in use, where the shop told us of any.
    """
    minutes: dict[str, list[int]] = defaultdict(list)
    for kind, each in Programme.objects.filter(in_use=True).values_list("kind", "minutes"):
        minutes[kind].append(each)
    litres: dict[str, float] = defaultdict(float)
    room: dict[str, int] = defaultdict(int)
    presses = 0
    for machine in Machine.objects.filter(in_use=True).order_by("pk"):
        presses += machine.kind in ONE_PERSON
        if machine.kind in DRYING_PLACES:
            room[machine.kind] += machine.most_pieces
        if machine.kind in minutes:
            run = sum(minutes[machine.kind]) / len(minutes[machine.kind]) + machine.turnaround
            station = machines.station_of(machine.kind)
            litres[station] += float(machine.litres) * USUAL_FILL / run
    now = now or timezone.now()
    crews = crews_since(since or business_day(now))
    people = _at_the_presses(crews.usual, presses)
    places = {each.kind.value: each.free_times(now) for each in places_now(now, room)}
    return Capacity(people, dict(litres), _spells(crews, people, presses, litres), places)


def _at_the_presses(people: Mapping[str, float], presses: int) -> dict[str, float]:
    found = dict(people)
    if presses:
        found[Station.PRESS] = min(found.get(Station.PRESS, 1.0), float(presses))
    return found


def _spells(
    crews: Crews, people: Mapping[str, float], presses: int, litres: Collection[str]
) -> dict[str, list[Spell]]:
    """More hands than usual make no drum turn faster."""
    spells: dict[str, list[Spell]] = defaultdict(list)
    for day in sorted(crews.days):
        there = _at_the_presses(crews.on(day), presses)
        for station in sorted(crews.days[day]):
            share = there[station] / people.get(station, 1.0)
            share = min(share, 1.0) if station in litres else share
            ends = start_of(day + timedelta(days=1))
            spells[station].append(Spell(start_of(day), ends, share))
    return dict(spells)


# Open work

IN_PROCESS = (PieceState.WAITING, PieceState.HELD, PieceState.ASSEMBLED)
"""Tagged, and not yet racked, collected or gone back."""


def open_pieces(now: datetime, station: Station | None = None) -> list[OpenPiece]:
    """Every open piece, or those at one station, with what is left to do, by ticket and position:
    four queries, of open rows alone and without facts or decisions."""
    steps = _steps_of_open_pieces(station)
    holds = _open_holds()
    loads = _open_loads()
    tickets: dict[int, OpenTicket] = {}
    pieces = []
    rows = Piece.objects.filter(
        state__in=IN_PROCESS, ticket__ready_at__isnull=True, ticket__closed_at__isnull=True
    ).order_by("ticket_id", "position")
    if station is not None:
        rows = rows.filter(station=station)
    names = "pk", "code", "state", "station", "weight_g", "kind", "description", "promised_at"
    of_ticket = "ticket__number", "ticket__rush", "ticket__promised_at"
    for pk, code, state, station, grams, kind, words, due, *told in rows.values_list(
        *names, *of_ticket
    ):
        ticket = tickets.setdefault(told[0], OpenTicket(*told))
        route = steps.get(pk, [])
        place = _where(route, loads.get(pk), now)
        pieces.append(
            OpenPiece(
                pk,
                code,
                ticket,
                due,
                state,
                station,
                grams,
                tuple(_step(row, grams) for row in route if row.done_at is None),
                place.goes_on,
                kind,
                words,
                place.away,
                place.under_way,
                place.load,
                holds.get(pk),
            )
        )
    return pieces


class _StepRow(NamedTuple):
    piece: int
    order: int
    step: str
    station: str
    settings: Settings
    minutes: Decimal
    done_at: datetime | None


class _LoadRow(NamedTuple):
    piece: int
    load: int
    state: str
    ends_at: datetime | None
    partner: int | None


class _Place(NamedTuple):
    """Where a piece is now, and from when it goes on."""

    goes_on: datetime
    away: str
    under_way: bool
    load: OpenLoad | None


def _step(row: _StepRow, grams: int) -> OpenStep:
    task = task_of(row.station, row.step, row.minutes, row.settings, grams)
    return OpenStep(row.order, row.step, task)


def _steps_of_open_pieces(station: Station | None) -> dict[int, list[_StepRow]]:
    rows = RouteStep.objects.filter(piece__state__in=IN_PROCESS).order_by("piece_id", "order")
    if station is not None:
        rows = rows.filter(piece__station=station)
    steps: dict[int, list[_StepRow]] = defaultdict(list)
    for row in rows.values_list(
        "piece_id", "order", "step", "station", "settings", "minutes", "done_at"
    ):
        steps[row[0]].append(_StepRow(*row))
    return steps


def _open_holds() -> dict[int, OpenHold]:
    """Piece -> the question to be asked first."""
    rows = Hold.objects.filter(ended_at__isnull=True).order_by("-ask_again_on", "-pk")
    return {
        piece: OpenHold(pk, reason, f"{first} {last}".strip() or name, day)
        for piece, pk, reason, day, first, last, name in rows.values_list(
            "piece_id",
            "pk",
            "reason",
            "ask_again_on",
            "owner__first_name",
            "owner__last_name",
            "owner__username",
        )
    }


def _open_loads() -> dict[int, _LoadRow]:
    rows = LoadPiece.objects.filter(left_at__isnull=True).order_by("-pk")
    return {
        row[0]: _LoadRow(*row)
        for row in rows.values_list(
            "piece_id", "load_id", "load__state", "load__ends_at", "load__partner_id"
        )
    }


def _where(route: Sequence[_StepRow], inside: _LoadRow | None, now: datetime) -> _Place:
    """It may be in a drum or with a partner by an open load, or on the rail where its last step
    hung it up."""
    load = None
    if inside is not None:
        running = inside.state == LoadState.RUNNING
        load = OpenLoad(inside.load, inside.partner is not None, running)
    first = next((row for row in route if row.done_at is None), None)
    last = next((row for row in reversed(route) if row.done_at is not None), None)
    if inside is not None and first is not None and inside.state in IN_MACHINE:
        ends = inside.ends_at if inside.state == LoadState.RUNNING else None
        return _Place(max(now, ends or now), first.station, True, load)
    away, goes_on = last.station if last else "", now
    if last is not None and last.step == "dry" and last.settings.get("method") != "tumble":
        assert last.done_at is not None  # it is among those done
        rail = timedelta(minutes=workloads.waits_by_settings(last.step, last.settings))
        goes_on = max(now, last.done_at + rail)
    return _Place(goes_on, away, False, load)
