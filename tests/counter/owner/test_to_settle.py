"""What only the owner can settle, the gravest first."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from counter.owner.to_settle import to_settle
from counter.owner.wording.findings import late_by
from tests.counter.rows import DAY, act, at, before, piece_at, rack, ticket_of
from tests.markup import text
from tickets.models import Hold
from tickets.promise.open_work import open_work
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def test_late_at_risk_holds_debts_and_messages_in_this_order(oz: User) -> None:
    late = ticket_of(oz, opened=at(8, before(9)), promised=at(9, before(6)))
    tracking.hold(piece_at(late, 1).code, "zip on order", oz, DAY, act(oz, at(9)))
    risky = ticket_of(oz, stations=("bench",), minutes=90, opened=at(8), promised=at(11))
    expected = open_work(at(10)).outlook.tickets
    holds = list(Hold.objects.all())
    unpaid = 11, Decimal("349.00")
    lines = to_settle([late], [risky], holds, 1, unpaid, 14, expected, at(10))
    assert [(line.look, line.name, line.why, line.far) for line in lines] == [
        ("late", "Ada Brook", "zip on order", "6 days"),
        ("risk", "Ada Brook", "Bench", "11:00"),
        ("held", "1 piece on hold", "first: zip on order", "1 to ask"),
        ("", "11 tickets", "done, not paid", ""),
        ("", "14 messages", "not sent yet", ""),
    ]
    assert lines[3].owed == Decimal("349.00")


def test_many_late_ones_end_in_their_number(oz: User) -> None:
    late = [ticket_of(oz, opened=at(8, before(9)), promised=at(9, before(6))) for _ in range(7)]
    lines = to_settle(late, [], [], 0, (0, Decimal(0)), 0, {}, at(10))
    assert [line.name for line in lines] == [*["Ada Brook"] * 4, "3 more late"]
    assert (lines[-1].page, lines[-1].key) == ("owner_figure", "late")


def test_nothing_to_settle_is_said(office: Client, oz: User) -> None:
    assert "Nothing waits for you." in text(office.get("/owner/").content)


def test_a_debt_stands_on_the_page_with_its_sum(office: Client, oz: User) -> None:
    rack(ticket_of(oz, opened=timezone.now() - timedelta(hours=3), price="8.50"), oz)
    assert "1 ticket done, not paid £8.50" in text(office.get("/owner/").content)


@pytest.mark.parametrize(
    ("minutes", "says"),
    [(5, "5 min"), (90, "1 h"), (1439, "23 h"), (1440, "1 day"), (8800, "6 days")],
)
def test_how_late_is_said_in_the_greatest_unit(minutes: int, says: str) -> None:
    assert late_by(timedelta(minutes=minutes)) == says
