"""What the tests of the API send, and how they count the queries of an answer."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from rest_framework.test import APIClient

from tests import building
from tickets.models import Piece
from tickets.promise.open_work import forget_open_work

V1 = "/api/v1"


def fresh_key() -> str:
    return str(uuid.uuid4())


def scan(client: APIClient, piece: Piece, at: str, **more: Any) -> Any:
    sent = {"code": piece.code, "station": at, "client_key": fresh_key(), **more}
    return client.post(f"{V1}/scan/", sent)


def queries_of(action: Callable[[], Any]) -> int:
    """How many database queries an action makes."""
    forget_open_work()
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
