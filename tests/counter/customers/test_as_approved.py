"""The desk and the page of a customer, as a person last looked at them."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from time_machine import Traveller

from counter.money import services as payments
from tests.approved import assert_approved
from tests.building import make_customer
from tests.counter.rows import act, rack, ticket_of
from tests.page_lines import page_lines
from tests.tickets.busy_shop import held_busy_shop

APPROVED = Path(__file__).with_name("approved")


def test_the_pages_are_as_approved(counter: Client, user: User, clock: Traveller) -> None:
    """A customer with a ticket on the rack that is paid in part, one under way, and one that is
    new; a namesake; and the search by each of what people say."""
    held_busy_shop(user, clock)
    nora = make_customer("Nora Vale", "020 7946 0321")
    make_customer("Nora Vale", "020 7946 0654")
    opened = timezone.now() - timedelta(days=3)
    ready = rack(ticket_of(user, 2, customer=nora, opened=opened), user)
    payments.take(ready, "deposit", "cash", Decimal("4.50"), act(user), "deposit")
    ticket_of(user, 1, customer=nora, opened=opened)
    paths = [
        "/desk/",
        *(f"/desk/?q={typed}" for typed in ("nora", "0321", ready.number, "zzz")),
        f"/customers/{nora.pk}/",
        "/customers/new/",
    ]
    pages = [(path, counter.get(path, follow=True).content) for path in paths]
    assert_approved(page_lines(pages), APPROVED / "pages.txt")
