"""Tickets with hand-chosen steps, minutes and prices, for figures that can be counted by hand.

The rows are real and move through the real doors; only the route is chosen here, so that a change
in a care table changes no sum.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.utils import timezone

from counter.models import TicketLine
from counter.money.services import keep_balances
from tests.building import make_customer
from tickets import numbers
from tickets.acting import Act
from tickets.choices import Station
from tickets.models import Customer, Piece, RouteStep, Ticket
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking

DAY = date(2026, 3, 10)
"""A Tuesday in winter time, when the shop's clock in London shows UTC. Open from 8 to 18."""

HOUR = timedelta(hours=1)
STEP_AT = {
    "intake": "check",
    "bench": "mend",
    "spotting": "pre_spot",
    "wash": "wash",
    "dry": "dry",
    "press": "press",
    "check": "inspect",
}
DECISION = {
    "id": "",
    "tables": "test",
    "outcome": "accept",
    "process": "machine_wash",
    "where": "in_house",
    "limits": {
        "wash": {
            "allowed": True,
            "max_c": 30,
            "action": "normal",
            "hand_only": False,
            "spin": "normal",
        },
        "bleach": "none",
        "tumble": "low",
        "air_dry": {"hang": True, "drip": False, "shade": False},
        "iron": {"max_c": 150, "steam": True, "reverse_side": False, "press_cloth": False},
        "dry_clean": {"solvents": [], "action": "normal"},
        "wet_clean": {"allowed": False, "action": "normal"},
    },
    "load": {
        "colour_group": "white",
        "alone": False,
        "mesh_bag": False,
        "inside_out": False,
        "softener": True,
    },
    "steps": [],
    "cautions": [],
    "because": {},
}


def at(hour: float, day: date = DAY) -> datetime:
    return datetime.combine(day, time(), tzinfo=UTC) + hour * HOUR


def before(days: int) -> date:
    return DAY - timedelta(days=days)


def ticket_of(
    by: User,
    pieces: int = 1,
    *,
    stations: Sequence[str] = ("intake", "wash", "check"),
    minutes: Decimal | int = 10,
    price: str = "6.00",
    customer: Customer | None = None,
    opened: datetime | None = None,
    promised: datetime | None = None,
    kind: str = "shirt_cotton",
) -> Ticket:
    """A ticket whose pieces pass these stations, each for these minutes and at this price."""
    at = opened or timezone.now()
    promised = promised or at + timedelta(days=2)
    highest = Ticket.objects.order_by("-number").values_list("number", flat=True).first()
    ticket = Ticket.objects.create(
        number=numbers.next_ticket(highest),
        customer=customer or make_customer(),
        opened_at=at,
        opened_by=by,
        business_day=business_day(at),
        promised_at=promised,
        promise_day=business_day(promised),
    )
    for position in range(1, pieces + 1):
        piece = Piece.objects.create(
            ticket=ticket,
            position=position,
            code=numbers.piece_code(ticket.number, position),
            kind=kind,
            facts={"kind": kind, "services": ["clean"]},
            decision=DECISION,
            tables_version="test",
            services=["clean"],
            promised_at=promised,
            station=Station(stations[0]),
            since=at,
        )
        RouteStep.objects.bulk_create(
            RouteStep(
                piece=piece,
                order=order,
                step=STEP_AT[station],
                station=station,
                says=f"Step {order}.",
                minutes=Decimal(minutes),
            )
            for order, station in enumerate(stations, 1)
        )
        tracking.first_moves([piece], Act(by=by, at=at))
        piece.move_count = 1
        piece.save(update_fields=["move_count"])
        if Decimal(price):
            TicketLine.objects.create(
                ticket=ticket, piece=piece, text="Clean and press", amount=Decimal(price)
            )
    keep_balances([ticket.pk])
    return ticket


def work(piece: Piece, by: User, *, until: str, at: datetime | None = None) -> None:
    """Finish step after step until the piece waits at a station."""
    for _ in range(20):
        piece.refresh_from_db()
        if piece.station == until:
            return
        tracking.finish_work(piece.code, Station(piece.station), act(by, at))
    raise AssertionError(f"{piece} never came to {until}")


def rack(
    ticket: Ticket,
    by: User,
    *,
    only: Sequence[int] = (),
    place: str = "A1",
    at: datetime | None = None,
) -> Ticket:
    """Work, match and rack the pieces at these positions, or all of them."""
    chosen = ticket.pieces.filter(position__in=only) if only else ticket.pieces.all()
    for piece in chosen:
        work(piece, by, until=Station.ASSEMBLY, at=at)
        tracking.assemble(piece.code, act(by, at))
    tracking.complete_ticket(
        ticket.number, act(by, at), part_reason="customer waits" if only else ""
    )
    for piece in chosen:
        tracking.rack(piece.code, place, act(by, at))
    ticket.refresh_from_db()
    return ticket


def act(by: User, at: datetime | None = None) -> Act:
    return Act(by=by, at=at) if at else Act(by=by)


def piece_at(ticket: Ticket, position: int) -> Piece:
    return ticket.pieces.get(position=position)
