"""The papers that the counter prints of the busy shop, as a person last looked at them.

What stands where on a paper of made-up facts is held where papers are drawn; here it is what the
shop's own rows make of them.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from django.contrib.auth.models import User
from django.test import Client
from time_machine import Traveller

from counter.money import services as payments
from counter.pickup import services as pickup
from tests.approved import assert_approved
from tests.building import hivis_jacket, jumper, make_ticket
from tests.counter.rows import act, piece_at, rack, ticket_of
from tests.tickets.busy_shop import held_busy_shop
from tests.tickets.printing.drawn import drawn

APPROVED = Path(__file__).with_name("approved")


def test_the_papers_are_as_approved(counter: Client, user: User, clock: Traveller) -> None:
    held_busy_shop(user, clock)
    decided = make_ticket(user, [jumper(stains=[{"stain": "red wine"}]), hivis_jacket()])
    racked = rack(ticket_of(user, 2), user)
    payments.take(racked, "deposit", "cash", Decimal("5.00"), act(user), "deposit")
    pickup.scan(racked.number, piece_at(racked, 1).code, act(user))
    visit = racked.pickups.get().pk
    pickup.hand_over(visit, "Ada Brook", "slip", act(user), owed_reason="next time", part_of=2)
    lines = []
    for path in (
        f"/tickets/{decided.number}/claim-slip.pdf",
        f"/tickets/{racked.number}/receipt.pdf",
        f"/tickets/{decided.number}/tags.pdf",
    ):
        answer = counter.post(path, {"size": "roll-62", "start_at": "1"})
        assert answer.status_code == 200, path
        lines += [f"== {path}", *drawn(answer.getvalue())]
    assert_approved(lines, APPROVED / "papers.txt")
