"""A shop with staff, and clients of the API that are signed in as one of them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from rest_framework.test import APIClient

from counter.roles import ROLES
from tests import building
from tickets.choices import Station
from tickets.models import Load, Piece, Ticket

V1 = "/api/v1"


@pytest.fixture
def staff(db: Any) -> dict[str, User]:
    """One person of each role, and one who has none."""
    building.make_shop()
    people = {role: building.make_user(role) for role in ROLES}
    people["none"] = User.objects.create_user("test-none", password="pw")
    return people


@pytest.fixture
def client_of(staff: dict[str, User]) -> Callable[[str], APIClient]:
    def sign_in(role: str) -> APIClient:
        client = APIClient()
        if role:
            client.force_login(staff[role])
        return client

    return sign_in


@pytest.fixture
def counter(client_of: Callable[[str], APIClient]) -> APIClient:
    return client_of("counter")


@pytest.fixture
def back(client_of: Callable[[str], APIClient]) -> APIClient:
    return client_of("backroom")


@pytest.fixture
def ticket(staff: dict[str, User]) -> Ticket:
    """A ticket of one wool jumper, opened by the counter."""
    return building.make_ticket(staff["counter"])


@pytest.fixture
def pieces(staff: dict[str, User]) -> list[Piece]:
    """Two white shirts that wait for a washer."""
    building.make_machine()
    shirts = building.make_ticket(staff["backroom"], [building.shirt(stains=[])] * 2).pieces
    return [
        building.work_until(piece, Station.WASH, staff["backroom"])
        for piece in shirts.order_by("position")
    ]


@pytest.fixture
def load(staff: dict[str, User], pieces: list[Piece]) -> Load:
    """A load being filled, with both."""
    return building.make_load(staff["backroom"], pieces)


def queries_of(action: Callable[[], Any]) -> int:
    """How many database queries an action makes."""
    with CaptureQueriesContext(connection) as made:
        action()
    return len(made)


def inspection(**changes: str) -> dict[str, str]:
    answers = {"pockets": "none", "stains": "none", "damage": "none", "fastenings": "none"}
    return {**answers, **changes}


def new_ticket(**changes: Any) -> dict[str, Any]:
    """What opens a ticket of one jumper for a new customer, a week from now."""
    return {
        "new_customer": {"name": "Iris Marlow", "phone": "01632 960777"},
        "pieces": [{"facts": building.jumper(), "inspection": inspection()}],
        "promised_at": (timezone.now() + timedelta(days=7)).isoformat(),
        **changes,
    }
