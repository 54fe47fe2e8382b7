"""The pages of an intake, as a person last looked at them."""

from __future__ import annotations

from pathlib import Path

from django.contrib.auth.models import User
from django.test import Client
from time_machine import Traveller

from counter.intake.services import start_draft
from tests.approved import assert_approved
from tests.building import make_customer
from tests.counter.intake.intaking import SHIRT, fill, url
from tests.page_lines import page_lines
from tests.tickets.busy_shop import held_busy_shop

APPROVED = Path(__file__).with_name("approved")


def test_the_pages_are_as_approved(counter: Client, user: User, clock: Traveller) -> None:
    """A piece that nobody has answered for, the same with every group answered, and the ticket."""
    held_busy_shop(user, clock)
    draft = start_draft(make_customer("Nora Vale", "020 7946 0321"), user)
    counter.post(url(draft, "pieces/add/"), {"expected": "0"})
    untouched = counter.get(url(draft, "pieces/1/")).content
    empty = counter.get(url(draft)).content
    counter.post(url(draft, "pieces/1/"), {**SHIRT, "do": "look"})
    fill(draft, weight_g=180)
    pages = [
        ("an untouched piece", untouched),
        ("its ticket", empty),
        ("a full piece", counter.get(url(draft, "pieces/1/")).content),
        ("its ticket", counter.get(url(draft)).content),
    ]
    assert_approved(page_lines(pages), APPROVED / "pages.txt")
