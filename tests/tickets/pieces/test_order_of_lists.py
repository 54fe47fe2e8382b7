"""In which order the API lists pieces, tickets and customers."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.models import User
from django.utils import timezone
from rest_framework.test import APIClient

from tests.counter.rows import ticket_of


def test_pieces_come_by_promise_and_then_as_they_were_taken_in(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    soon = timezone.now() + timedelta(days=1)
    by = api_staff["counter"]
    late = ticket_of(by, 2, promised=soon + timedelta(days=2))
    first = ticket_of(by, 2, promised=soon)
    again = ticket_of(by, 1, promised=soon)
    codes = [piece["code"] for piece in api_back.get("/api/v1/pieces/").json()["results"]]
    assert codes == [
        piece.code
        for ticket in (first, again, late)
        for piece in ticket.pieces.order_by("position")
    ]
