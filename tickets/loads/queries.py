"""Loads and bags, the pieces that wait for one or lie in one, and what was done to them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db.models import Count, Min, Prefetch, Q, QuerySet
from django.utils.translation import gettext as _

from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.models import (
    Load,
    LoadEvent,
    LoadPiece,
    Machine,
    Move,
    Partner,
    Piece,
    Programme,
    RouteStep,
)
from tickets.models.machines import IN_MACHINE, OPEN_LOADS, LeftHow
from tickets.shop import partners
from tickets.shop.machine_facts import MachineFacts
from tickets.shop.machines import washer_spin_g
from tickets.shop.queries import read_machinery

# Pieces


def waiting_here(station: Station) -> list[Piece]:
    """Pieces in hand at a station that are in no open load, most urgent first: two queries."""
    taken = LoadPiece.objects.filter(left_at__isnull=True).values("piece_id")
    pieces = (
        Piece.objects.filter(station=station, state=PieceState.WAITING)
        .exclude(pk__in=taken)
        .select_related("ticket__customer")
        .prefetch_related(_steps())
        .order_by("promised_at", "-ticket__rush", "pk")
    )
    return list(pieces)


def inside(load: Load) -> list[Piece]:
    """Pieces that belong to the load now, in the order in which they were counted in."""
    rows = (
        LoadPiece.objects.filter(load=load, left_at__isnull=True)
        .select_related("piece__ticket__customer")
        .prefetch_related(Prefetch("piece__steps", RouteStep.objects.order_by("order")))
        .order_by("pk")
    )
    return [row.piece for row in rows]


def pieces_for_drums(keys: Iterable[int]) -> dict[int, Piece]:
    """The pieces with these keys, with all that the planner reads of them: two queries."""
    rows = (
        Piece.objects.filter(pk__in=list(keys))
        .select_related("ticket__customer")
        .prefetch_related(_steps())
    )
    return {piece.pk: piece for piece in rows}


def _steps() -> Prefetch:
    return Prefetch("steps", RouteStep.objects.order_by("order"))


def is_inside(load: Load, piece: Piece) -> bool:
    """Whether a piece belongs to the load now."""
    return LoadPiece.objects.filter(load=load, piece=piece, left_at__isnull=True).exists()


def left_rows(load: Load) -> QuerySet[LoadPiece]:
    """What left the load, in the order in which it was counted in."""
    rows = load.contents.filter(left_at__isnull=False)
    return rows.select_related("piece").order_by("pk")


def missing_from(load: Load) -> list[Piece]:
    """Pieces that were counted in and not found when the load was counted out."""
    rows = LoadPiece.objects.filter(load=load, how=LeftHow.NEVER_IN).select_related("piece")
    return [row.piece for row in rows]


# Loads


def listed_loads() -> QuerySet[Load]:
    """Every load with how many pieces it holds as ``piece_count``, the newest first."""
    count = Count("contents", Q(contents__left_at__isnull=True))
    loads = Load.objects.select_related("machine", "partner", "programme")
    return loads.annotate(piece_count=count).order_by("-pk")


def listed_load(pk: int) -> Load | None:
    """A load as the list has it; None for none."""
    return listed_loads().filter(pk=pk).first()


def narrowed_to_open_loads(loads: QuerySet[Load], yes: bool) -> QuerySet[Load]:
    """Those of the loads that hold a machine or a bag, or all others."""
    open_state = Q(state__in=OPEN_LOADS)
    return loads.filter(open_state if yes else ~open_state)


def load_by_number(pk: int) -> Load | None:
    """A load with its machine, partner and programme; None for none."""
    loads = Load.objects.select_related("machine", "partner", "programme")
    return loads.filter(pk=pk).first()


def lies_in_load(code: str) -> bool:
    """Whether the piece with these ten digits belongs to a load or bag now."""
    return LoadPiece.objects.filter(piece__code=code, left_at__isnull=True).exists()


def open_load_with(code: str) -> Load | None:
    """The load or bag that the piece with these ten digits belongs to now."""
    rows = LoadPiece.objects.select_related("load__machine", "load__partner")
    row = rows.filter(piece__code=code, left_at__isnull=True).first()
    return row.load if row else None


def load_in_drum(machine: Machine) -> Load | None:
    """The load that keeps a machine busy."""
    return Load.objects.filter(machine=machine, state__in=IN_MACHINE).first()


def open_bags() -> list[Load]:
    """Bags being packed, gone, or back and not yet counted out."""
    bags = Load.objects.filter(station=Station.SEND_OUT, state__in=OPEN_LOADS)
    return list(bags.select_related("partner").order_by("pk"))


def first_promises(loads: Iterable[Load]) -> dict[int, datetime]:
    """The earliest promise among the pieces that lie in each of these loads: one query."""
    inside = LoadPiece.objects.filter(load__in=list(loads), left_at__isnull=True).order_by()
    rows: Iterable[Any] = inside.values_list("load").annotate(Min("piece__promised_at"))
    return dict(rows)


# What was done


def events_of(load: Load) -> QuerySet[LoadEvent]:
    """All that was done to a load, and by whom, in order."""
    return load.events.select_related("piece", "by").order_by("pk")


def event_in_full(event: LoadEvent) -> LoadEvent:
    """An event with its piece and who made it."""
    return LoadEvent.objects.select_related("piece", "by").get(pk=event.pk)


def event_under(client_key: str) -> LoadEvent | None:
    """What was done under a one-time key, with its load and piece."""
    events = LoadEvent.objects.select_related("load__machine", "load__partner", "piece")
    return events.filter(client_key=client_key).first()


def only_move_under(client_key: str | None) -> Move | None:
    """The move under a one-time key with which nothing was done to a load."""
    move = Move.objects.select_related("piece").filter(client_key=client_key).first()
    if move and not LoadEvent.objects.filter(client_key=client_key).exists():
        return move
    return None


# Machines and partners


def drum_of_load(load: Load) -> MachineFacts:
    """The load's machine, or its bag, as the planner sees it."""
    if load.machine is None:
        assert load.partner is not None  # the table holds exactly one
        return partners.bag_of(load.partner)
    facts = read_machinery(Station(load.station), load.opened_at).facts_of(load.machine)
    if facts is None:
        raise Refused(
            "no_programme",
            _("%(machine)s has no programme in use.") % {"machine": load.machine.name},
            _("Ask the owner to set one on the page of machines."),
        )
    return facts


def programme_of(machine: Machine, key: str) -> Programme:
    """The programme with this key on machines of that kind."""
    return Programme.objects.get(kind=machine.kind, key=key)


def shop_spin_g() -> float:
    """G of the spin of the shop's washers; 0 where none states it: one query."""
    return washer_spin_g(Machine.objects.all())


def partners_in_use() -> list[Partner]:
    """Partners that take bags, by name."""
    return list(Partner.objects.filter(in_use=True))
