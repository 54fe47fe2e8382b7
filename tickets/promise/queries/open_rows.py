"""What is open: its rows as plain values, and what was written last of all that it hangs on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import (
    F,
    FilteredRelation,
    Func,
    Q,
    QuerySet,
    Subquery,
    Value,
)

from care_rules import Settings
from tickets.choices import PieceState
from tickets.models import (
    LoadEvent,
    LoadPiece,
    Move,
    Piece,
    Revision,
    RouteStep,
)
from tickets.models.machines import IN_MACHINE, LoadState
from tickets.promise.changes import WINDOW, Newest
from tickets.promise.queue import OpenHold, OpenLoad, OpenPiece, OpenStep, OpenTicket
from tickets.promise.step_tasks import task_of
from tickets.shop import minutes as workloads

IN_PROCESS = (PieceState.WAITING, PieceState.HELD, PieceState.ASSEMBLED)
"""Tagged, and not yet racked, collected or gone back."""


def open_pieces(now: datetime, beside: Collection[int] | None = None) -> list[OpenPiece]:
    """Every open piece, or those of the tickets of these pieces, with what is left to do, by ticket
    and position: two queries, of open rows alone and without facts or decisions."""
    rows = Piece.objects.filter(
        state__in=IN_PROCESS, ticket__ready_at__isnull=True, ticket__closed_at__isnull=True
    )
    route_rows = RouteStep.objects.filter(
        piece__state__in=IN_PROCESS, piece__ticket__closed_at__isnull=True
    )
    if beside is not None:
        tickets = Piece.objects.filter(pk__in=beside).values("ticket")
        rows = rows.filter(ticket__in=tickets)
        route_rows = route_rows.filter(piece__ticket__in=tickets)
    routes = _routes(route_rows)
    tickets_by_number: dict[int, OpenTicket] = {}
    pieces = []
    for row in _with_hold_and_load(rows):
        pk, code, state, station, grams, kind, words, due, *facts = row
        ticket = tickets_by_number.setdefault(facts[0], OpenTicket(*facts[:3]))
        route, hold, inside = routes.get(pk, []), _HoldRow(*facts[3:9]), _LoadRow(*facts[9:])
        place = _where(route, inside if inside.load else None, now)
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
                hold.question(),
            )
        )
    return pieces


def _with_hold_and_load(pieces: QuerySet[Piece]) -> Iterable[Sequence[Any]]:
    """Of each piece its own columns, its ticket's, its open hold's and its load's, where it has
    any: at most one of each."""
    joined = pieces.annotate(
        hold=FilteredRelation("holds", condition=Q(holds__ended_at__isnull=True)),
        inside=FilteredRelation("in_loads", condition=Q(in_loads__left_at__isnull=True)),
    )
    own = "pk", "code", "state", "station", "weight_g", "kind", "description", "promised_at"
    ticket = "number", "rush", "promised_at"
    owner = "first_name", "last_name", "username"
    load = "state", "ends_at", "partner_id"
    return joined.order_by("ticket_id", "position").values_list(
        *own,
        *(f"ticket__{name}" for name in ticket),
        *("hold__pk", "hold__reason", "hold__ask_again_on"),
        *(f"hold__owner__{name}" for name in owner),
        *("inside__load_id", *(f"inside__load__{name}" for name in load)),
    )


def ticket_numbers(pieces: Collection[int]) -> set[int]:
    """Numbers of the tickets of these pieces."""
    return set(Piece.objects.filter(pk__in=pieces).values_list("ticket__number", flat=True))


def newest_changes() -> Newest:
    """What was written last of all that open work hangs on: one query, whatever waits."""
    moves = _newest(Move.objects.annotate(what=Value("move"), key=F("piece_id")))
    events = _newest(LoadEvent.objects.annotate(what=Value("event"), key=F("load_id")))
    settings = Revision.objects.order_by().annotate(what=F("name"), key=Value(0))
    rows: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for what, number, key in moves.union(
        events, settings.values_list("what", "number", "key"), all=True
    ):
        rows[what].append((number, key))
    return Newest(
        tuple(sorted(rows.pop("move", ()), reverse=True)),
        tuple(sorted(rows.pop("event", ()), reverse=True)),
        tuple(sorted((name, numbers[0][0]) for name, numbers in rows.items())),
    )


def _newest(rows: QuerySet[Any]) -> QuerySet[Any, tuple[str, int, int]]:
    """(what, number, key) of the rows whose number is within the window below the highest."""
    every = rows.model._default_manager.order_by()
    # Not an aggregate of Django's, which would group: an engine takes this one from the index.
    highest = every.annotate(top=Func(F("pk"), function="MAX")).values("top")
    recent = rows.order_by().filter(pk__gt=Subquery(highest) - WINDOW)
    return recent.values_list("what", "pk", "key")


def pieces_of_loads(loads: Collection[int]) -> set[int]:
    """Pieces that were ever counted into these loads."""
    return set(LoadPiece.objects.filter(load__in=loads).values_list("piece_id", flat=True))


class _StepRow(NamedTuple):
    piece: int
    order: int
    step: str
    station: str
    settings: Settings
    minutes: Decimal
    done_at: datetime | None


class _HoldRow(NamedTuple):
    pk: int | None
    reason: str
    ask_again_on: date
    first_name: str
    last_name: str
    username: str

    def question(self) -> OpenHold | None:
        if self.pk is None:
            return None
        owner = f"{self.first_name} {self.last_name}".strip() or self.username
        return OpenHold(self.pk, self.reason, owner, self.ask_again_on)


class _LoadRow(NamedTuple):
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


def _routes(rows: QuerySet[RouteStep]) -> dict[int, list[_StepRow]]:
    """Piece -> its steps in order."""
    routes: dict[int, list[_StepRow]] = defaultdict(list)
    for row in rows.order_by("piece_id", "order").values_list(
        "piece_id", "order", "step", "station", "settings", "minutes", "done_at"
    ):
        routes[row[0]].append(_StepRow(*row))
    return routes


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
