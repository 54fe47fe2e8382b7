"""The page of messages to customers, as a person last looked at it."""

from __future__ import annotations

from pathlib import Path

from django.contrib.auth.models import User
from django.test import Client
from time_machine import Traveller

from counter.messages import services as notices
from counter.models import Notice
from tests.approved import assert_approved
from tests.building import make_customer
from tests.counter.rows import rack, ticket_of
from tests.page_lines import page_lines
from tests.tickets.busy_shop import held_busy_shop
from tickets.models import Customer

APPROVED = Path(__file__).with_name("approved")


def test_the_page_is_as_approved(counter: Client, user: User, clock: Traveller) -> None:
    """Somebody to call, somebody who was called, and a message that waits for the mail."""
    held_busy_shop(user, clock)
    people = [make_customer(name) for name in ("Nora Vale", "Ben Hale", "Cy Dale")]
    Customer.objects.filter(pk=people[2].pk).update(email="cy@example.org", may_message=True)
    for person in people:
        rack(ticket_of(user, customer=Customer.objects.get(pk=person.pk)), user)
    notices.mark_called(Notice.objects.get(ticket__customer=people[1]))
    page = counter.get("/messages/").content
    assert_approved(page_lines([("/messages/", page)]), APPROVED / "pages.txt")
