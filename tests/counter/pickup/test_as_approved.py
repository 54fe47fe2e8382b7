"""The pages of the pickup, as a person last looked at them."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from django.contrib.auth.models import User
from django.test import Client
from time_machine import Traveller

from counter.money import services as payments
from counter.pickup import services as pickup
from tests.approved import assert_approved
from tests.counter.rows import act, piece_at, rack, ticket_of
from tests.page_lines import page_lines
from tests.tickets.busy_shop import held_busy_shop

APPROVED = Path(__file__).with_name("approved")


def test_the_pages_are_as_approved(counter: Client, user: User, clock: Traveller) -> None:
    """Nothing ready, one of three counted out and a deposit paid, all collected; and the search."""
    tickets = held_busy_shop(user, clock)
    begun, taken = (rack(ticket_of(user, pieces), user) for pieces in (3, 1))
    payments.take(begun, "deposit", "cash", Decimal("5.00"), act(user), "deposit")
    pickup.scan(begun.number, piece_at(begun, 2).code, act(user))
    payments.take(taken, "payment", "card", Decimal("6.00"), act(user), "paid")
    pickup.scan(taken.number, piece_at(taken, 1).code, act(user))
    pickup.hand_over(taken.pickups.get().pk, "Ada Brook", "slip", act(user))
    numbers = [ticket.number for ticket in (tickets["wet"], begun, taken)]
    paths = [
        "/pickup/",
        "/pickup/?q=ada",
        *(f"/pickup/{number}/" for number in numbers),
    ]
    pages = [(path, counter.get(path, follow=True).content) for path in paths]
    assert_approved(page_lines(pages), APPROVED / "pages.txt")
