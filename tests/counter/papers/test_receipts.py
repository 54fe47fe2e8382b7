"""Receipts of a ticket that left in more than one visit, and what a slip calls the work."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from counter.models import Pickup
from counter.money import services as payments
from counter.pickup import services as pickup
from tests.building import make_ticket, trousers
from tests.counter.rows import act, piece_at, rack, ticket_of
from tests.tickets.printing.reading import words
from tickets.models import Ticket


@pytest.fixture
def in_two_visits(user: User) -> Ticket:
    """Cy Dale took the first piece, and Ben Hale the second an hour later."""
    ticket = rack(ticket_of(user, 2, opened=timezone.now() - timedelta(days=1)), user)
    payments.take(ticket, "payment", "cash", Decimal("12.00"), act(user), "paid")
    for position, name in ((1, "Cy Dale"), (2, "Ben Hale")):
        then = act(user, timezone.now() + timedelta(hours=position))
        pickup.scan(ticket.number, piece_at(ticket, position).code, then)
        visit = ticket.pickups.get(done_at__isnull=True)
        pickup.hand_over(visit.pk, name, "slip", then, part_of=2 if position == 1 else 0)
    return ticket


def receipt(till: Client, ticket: Ticket, visit: Pickup | None = None) -> str:
    sent = {"pickup": str(visit.pk)} if visit else {}
    answer = till.post(f"/tickets/{ticket.number}/receipt.pdf", sent)
    assert answer.status_code == 200
    [text] = words(answer.content)
    return text


def test_each_visit_has_its_own_receipt_and_the_last_one_unasked(
    counter: Client, in_two_visits: Ticket
) -> None:
    first, last = in_two_visits.pickups.order_by("done_at")
    said = receipt(counter, in_two_visits, first)
    assert ("Cy Dale" in said, "Ben Hale" in said) == (True, False)
    assert "Ben Hale" in receipt(counter, in_two_visits, last)
    assert "Ben Hale" in receipt(counter, in_two_visits)


def test_a_visit_of_another_ticket_has_no_receipt_here(
    counter: Client, user: User, in_two_visits: Ticket
) -> None:
    other = rack(ticket_of(user), user)
    visit = in_two_visits.pickups.first()
    assert visit is not None
    path = f"/tickets/{other.number}/receipt.pdf"
    assert counter.post(path, {"pickup": str(visit.pk)}).status_code == 404


def test_a_slip_names_the_work_at_the_bench_in_place_of_the_word_for_it(
    counter: Client, user: User
) -> None:
    facts = trousers(services=["clean", "press", "alter"], work=["trouser_hem_plain"])
    ticket = make_ticket(user, [facts])
    answer = counter.post(f"/tickets/{ticket.number}/claim-slip.pdf")
    [said] = words(answer.content)
    assert "Clean and press" in said
    assert "Shorten trousers, plain hem" in said
    assert "Alter" not in said
