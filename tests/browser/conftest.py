"""A small shop with its three people, and one customer's three pieces in the words on the pages."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User

from counter.models import PriceItem
from counter.roles import BACKROOM, COUNTER, OWNER
from tests import building
from tickets.models import Ticket

PRICES = (
    ("clean", "sweater_wool", "", "8.00"),
    ("clean", "shirt_cotton", "", "4.20"),
    ("press", "", "", "3.50"),
    ("alter", "", "trouser_hem_plain", "14.00"),
)


@pytest.fixture
def staff(transactional_db: Any) -> dict[str, User]:
    """The shop's people by role; each signs in as ``test-ROLE`` with ``pw`` and the PIN 2468."""
    building.make_shop()
    PriceItem.objects.bulk_create(
        PriceItem(service=service, kind=kind, work=work, amount=Decimal(amount))
        for service, kind, work, amount in PRICES
    )
    return {role: building.make_user(role) for role in (COUNTER, BACKROOM, OWNER)}


@pytest.fixture
def other_ticket(staff: dict[str, User]) -> Ticket:
    """Another customer's ticket of one jumper, ready at A2."""
    customer = building.make_customer("Bo Finch", "01632 960456")
    ticket = building.make_ticket(staff[BACKROOM], customer=customer)
    return building.make_ready(ticket, staff[BACKROOM], "A2")
