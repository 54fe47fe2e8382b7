"""Real rows for tests, made through the same doors as the shop makes them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any, TypeVar

from django.contrib.auth.models import User
from django.utils import timezone

from care_rules import Decision, JsonMapping
from counter.models import PriceItem, Shop
from counter.staff.services import add_person
from tickets import house_book
from tickets.acting import Act
from tickets.choices import PieceState, Station
from tickets.garments.queries import wash_counts
from tickets.garments.services import save_customer
from tickets.garments.washes import at_intake
from tickets.loads import services as loadbook
from tickets.models import (
    Customer,
    Load,
    Machine,
    OpeningHours,
    Partner,
    Piece,
    RackPlace,
    StationCrew,
    Ticket,
)
from tickets.pieces.decisions import (
    AcceptedCaution,
    DecidedPiece,
    PieceSpec,
    decide_piece,
    planned_route,
)
from tickets.pieces.services import open_ticket
from tickets.promise.expected import Outlook
from tickets.promise.open_work import OpenWork, forget_open_work, open_work
from tickets.promise.quote import Backlog, Promise, backlog_of, earliest_ready
from tickets.shop.services import save_machine
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station

_Row = TypeVar("_Row")

PHONE = "01632 960123"  # range reserved for fiction


def known(row: _Row | None) -> _Row:
    """The row, which the test knows to be there."""
    assert row is not None
    return row


def make_shop() -> Shop:
    """A shop that opens every day from 8 to 18, with two rack places and a few prices."""
    shop, is_new = Shop.objects.update_or_create(pk=1, defaults={"name": "Test Counter"})
    if is_new:
        OpeningHours.objects.bulk_create(
            OpeningHours(weekday=weekday, opens=time(8), closes=time(18)) for weekday in range(7)
        )
        RackPlace.objects.bulk_create(RackPlace(code=code) for code in ("A1", "A2"))
        services = ["dry_clean", "wet_clean", "leather"]
        Partner.objects.bulk_create([Partner(name="Partner", services=services)])
        StationCrew.objects.bulk_create([StationCrew(station=Station.BENCH, people=Decimal(1))])
        PriceItem.objects.bulk_create([PriceItem(service="clean", amount=Decimal("6.00"))])
    return shop


def make_user(role: str, name: str = "") -> User:
    return add_person(
        name or f"test-{role}", role, full_name=f"Test {role.title()}", password="pw", pin="2468"
    )


def make_customer(name: str = "Ada Brook", phone: str = PHONE) -> Customer:
    return save_customer(Customer(name=name), phone=phone, region="GB")


def jumper(**changes: Any) -> dict[str, Any]:
    """Facts of a wool jumper labelled 30 very mild."""
    return {
        "kind": "sweater_wool",
        "construction": "knit",
        "colour": "dark",
        "components": [{"part": "shell", "fibres": [{"fibre": "wool", "percent": 100}]}],
        "label": {
            "state": "read",
            "edition": "unknown",
            "market": "iso",
            "symbols": [
                "wash_30_very_mild",
                "no_bleach",
                "no_tumble",
                "flat_dry",
                "iron_110",
                "dry_clean_p_mild",
            ],
            "terms": [],
        },
        "services": ["clean", "press"],
        **changes,
    }


def shirt(**changes: Any) -> dict[str, Any]:
    """Facts of a white cotton shirt with red wine."""
    return {
        "kind": "shirt_cotton",
        "construction": "woven",
        "colour": "white",
        "components": [{"part": "shell", "fibres": [{"fibre": "cotton", "percent": 100}]}],
        "label": {
            "state": "read",
            "edition": "unknown",
            "market": "iso",
            "symbols": ["wash_60", "bleach_any", "tumble_normal", "iron_200", "dry_clean_p"],
            "terms": [],
        },
        "stains": [{"stain": "red wine"}],
        "services": ["clean", "press"],
        **changes,
    }


def trousers(**changes: Any) -> dict[str, Any]:
    """Facts of polyester trousers to be hemmed, not cleaned."""
    return {
        "kind": "other",
        "construction": "woven",
        "colour": "dark",
        "components": [{"part": "shell", "fibres": [{"fibre": "polyester", "percent": 100}]}],
        "label": {
            "state": "read",
            "edition": "unknown",
            "market": "iso",
            "symbols": ["wash_40_mild", "no_bleach", "tumble_low", "iron_150", "dry_clean_p"],
            "terms": [],
        },
        "services": ["alter", "press"],
        "work": ["trouser_hem_plain"],
        **changes,
    }


def hivis_jacket(**changes: Any) -> dict[str, Any]:
    """Facts of a high-visibility jacket to be washed: a piece whose washes are counted."""
    return {
        "kind": "hivis_jacket",
        "construction": "woven",
        "colour": "bright",
        "components": [{"part": "shell", "fibres": [{"fibre": "polyester", "percent": 100}]}],
        "label": {
            "state": "read",
            "edition": "unknown",
            "market": "iso",
            "symbols": ["wash_40", "no_bleach", "tumble_low", "iron_110", "no_dry_clean"],
            "terms": [],
        },
        "trims": ["reflective_tape"],
        "services": ["clean"],
        **changes,
    }


def decide_pieces(specs: Sequence[PieceSpec]) -> list[DecidedPiece]:
    """What is decided on each piece by the rules that bind now, as an intake would."""
    rules = house_book.current()
    last = wash_counts([spec.earlier for spec in specs if spec.earlier])
    counts = [
        at_intake(
            last[spec.earlier.pk] if spec.earlier else None,
            spec.washes_before,
            spec.washes_allowed,
        )
        for spec in specs
    ]
    return [
        decide_piece(position, spec, rules, count)
        for position, (spec, count) in enumerate(zip(specs, counts, strict=True), 1)
    ]


def make_ticket(
    by: User,
    facts: Sequence[dict[str, Any]] = (),
    *,
    customer: Customer | None = None,
    promised_at: datetime | None = None,
    accepted: Sequence[AcceptedCaution] = (),
    at: datetime | None = None,
) -> Ticket:
    now = at or timezone.now()
    return open_ticket(
        customer or make_customer(),
        decide_pieces(
            [PieceSpec(facts=piece_facts, accepted=accepted) for piece_facts in facts or [jumper()]]
        ),
        promised_at or now + timedelta(days=2),
        Act(by=by, at=now),
    )


def earliest_promise(decided: Sequence[tuple[JsonMapping, Decision]], at: datetime) -> Promise:
    """Earliest honest ready time of pieces given as (facts, decision)."""
    routes = [planned_route(facts, decision) for facts, decision in decided]
    work = work_of(at)
    return earliest_ready(routes, at, work.calendar, backlog_of(work))


def work_of(now: datetime | None = None) -> OpenWork:
    """The open work, read anew: a test may have written rows past every door."""
    forget_open_work()
    return open_work(now or timezone.now())


def outlook_of(now: datetime) -> Outlook:
    """What is expected of every open ticket."""
    return work_of(now).outlook


def queued_work(now: datetime | None = None, *, only_rush: bool = False) -> Backlog:
    """What a promise is made against."""
    return backlog_of(work_of(now), only_rush=only_rush)


def work_until(piece: Piece, station: Station, by: User) -> Piece:
    """Take a piece along its route, one move a station, until it waits at ``station``."""
    piece.refresh_from_db()
    for _ in range(30):
        if piece.station == station and piece.state == PieceState.WAITING:
            return piece
        if piece.station == Station.ASSEMBLY:
            break
        steps = at_station(piece)
        if steps and steps[0].step == "wet_check":
            tracking.answer_wet_check(piece.code, True, Act(by=by))
        else:
            tracking.finish_work(piece.code, Station(piece.station), Act(by=by))
        piece = Piece.objects.get(pk=piece.pk)
    if piece.station != station:
        raise AssertionError(f"{piece} never came to {station}")
    return piece


def make_machine(
    name: str = "Washer 1", kind: str = "washer", litres: int = 100, **more: Any
) -> Machine:
    """A machine with the usual programmes of its kind."""
    return save_machine(Machine(name=name, kind=kind, litres=Decimal(litres), **more))


def make_load(by: User, pieces: Sequence[Piece] = ()) -> Load:
    """A load being filled, in a machine of its own where there is none yet."""
    machine = Machine.objects.filter(kind="washer").first() or make_machine()
    codes = [piece.code for piece in pieces]
    return loadbook.open_load(machine.pk, codes, Act(by=by)).load


def make_ready(ticket: Ticket, by: User, place: str = "A1") -> Ticket:
    """Work, match and rack every piece of a ticket."""
    for piece in ticket.pieces.all():
        work_until(piece, Station.ASSEMBLY, by)
        tracking.assemble(piece.code, Act(by=by))
    tracking.complete_ticket(ticket.number, Act(by=by))
    for piece in ticket.pieces.all():
        tracking.rack(piece.code, place, Act(by=by))
    return Ticket.objects.get(pk=ticket.pk)


def hand_over_all(ticket: Ticket, by: User) -> Ticket:
    """Work every piece of a ticket and give it to the customer."""
    make_ready(ticket, by)
    for piece in ticket.pieces.all():
        tracking.hand_over(piece.code, ticket.number, Act(by=by))
    return Ticket.objects.get(pk=ticket.pk)
