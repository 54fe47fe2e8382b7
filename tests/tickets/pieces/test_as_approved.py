"""The pages of tickets and of pieces of the busy shop, as a person last looked at them."""

from __future__ import annotations

from pathlib import Path

from django.contrib.auth.models import User
from django.test import Client
from time_machine import Traveller

from tests.approved import assert_approved
from tests.building import hivis_jacket, jumper, make_ticket
from tests.counter.rows import piece_at, rack, ticket_of
from tests.page_lines import page_lines
from tests.tickets.busy_shop import held_busy_shop

APPROVED = Path(__file__).with_name("approved")


def test_the_pages_are_as_approved(boss: Client, crew: User, clock: Traveller) -> None:
    """Held, in a drum, late, matched in part, on the rack; and two pieces as the rules decide."""
    tickets = held_busy_shop(crew, clock)
    decided = make_ticket(crew, [jumper(stains=[{"stain": "red wine"}]), hivis_jacket()])
    racked = rack(ticket_of(crew, 2), crew)
    named = ("held", "in the drum", "late", "matched")
    shown = [*(tickets[name] for name in named), racked, decided]
    paths = [f"/tickets/{ticket.number}/" for ticket in shown]
    paths += [f"/pieces/{piece_at(ticket, 1).code}/" for ticket in shown]
    paths.append(f"/pieces/{piece_at(decided, 2).code}/")
    pages = [(path, boss.get(path).content) for path in paths]
    assert_approved(page_lines(pages), APPROVED / "pages.txt")
