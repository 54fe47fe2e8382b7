"""The demo shop: big enough, alive in every state, true to its moves, and shy of real tickets."""

from __future__ import annotations

from datetime import UTC, date, datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from counter.demo import services as demo
from counter.demo.services import load_demo
from counter.models import Payment, Pickup, Shop
from tests.building import make_customer
from tickets.choices import MoveKind, PieceState, Station
from tickets.garments.queries import wash_count
from tickets.garments.washes import WashCount
from tickets.models import (
    ClosedDay,
    Customer,
    Hold,
    Load,
    Machine,
    Move,
    OpeningHours,
    Partner,
    PartnerService,
    Piece,
    Ticket,
)
from tickets.models.machines import LoadState

pytestmark = pytest.mark.django_db

AFTERNOON = datetime(2026, 11, 25, 16, 30, tzinfo=UTC)
"""A Wednesday, so that the story does not change with the clock of the test."""


@pytest.mark.slow
def test_the_demo_shop_is_alive_in_every_state() -> None:
    assert load_demo(AFTERNOON) is True
    assert Ticket.objects.count() >= 60
    assert Piece.objects.count() >= 180
    assert set(Piece.objects.values_list("state", flat=True)) == set(PieceState.values)
    kinds = set(Move.objects.values_list("kind", flat=True))
    assert kinds == set(MoveKind.values) - {MoveKind.REDECIDED}
    passed = set(Move.objects.values_list("from_station", flat=True)) - {""}
    assert passed == set(Station.values)
    assert Hold.objects.filter(ended_at__isnull=True).count() >= 2
    assert Pickup.objects.filter(part=True).exists()
    assert Payment.objects.filter(kind=Payment.Kind.DEPOSIT).exists()
    gone = Load.objects.get(partner__isnull=False, state=LoadState.RUNNING)
    assert gone.contents.filter(left_at__isnull=True).exists()
    assert gone.ends_at is not None
    assert gone.ends_at > AFTERNOON
    taken = {service for partner in Partner.objects.all() for service in partner.services}
    assert taken == set(PartnerService.values)
    assert set(Machine.objects.values_list("kind", flat=True)) >= {"press", "ironer", "washer"}
    assert ClosedDay.objects.filter(day=date(2026, 12, 25)).exists()
    assert OpeningHours.objects.filter(break_from__isnull=False, cut_off__isnull=False).exists()
    assert Shop.current().running_costs is not None
    third = Piece.objects.filter(earlier__earlier__isnull=False).get()
    assert (third.station, third.state) == (Station.WASH, PieceState.WAITING)
    assert wash_count(third) == WashCount(22, 25, told=True)
    days = Ticket.objects.dates("business_day", "day")
    assert 25 <= (days[len(days) - 1] - days[0]).days <= demo.DAYS

    said = StringIO()
    call_command("check_moves", stdout=said)
    assert "agree with their" in said.getvalue()

    tickets = Ticket.objects.count()
    assert load_demo() is False
    assert Ticket.objects.count() == tickets


def test_a_database_with_real_customers_is_left_alone() -> None:
    make_customer()
    with pytest.raises(CommandError) as refused:
        call_command("demo", "--no-serve")
    assert "holds real tickets" in str(refused.value)
    assert "DATABASE_URL=" in str(refused.value)
    assert (Customer.objects.count(), Ticket.objects.count()) == (1, 0)
    assert not Shop.objects.filter(is_demo=True).exists()
