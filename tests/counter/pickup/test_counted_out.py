"""What of a ticket lies on the counter, hangs ready, is missing and is gone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from counter.pickup import services as pickup
from counter.pickup.queries import counted_out, find
from tests.building import make_customer
from tests.counter.rows import act, piece_at, rack, ticket_of
from tickets.models import Piece, Ticket
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def positions(pieces: Sequence[Piece]) -> list[int]:
    return [piece.position for piece in pieces]


def test_each_piece_of_a_ticket_stands_where_it_is(oz: User) -> None:
    ticket = ticket_of(oz, 6, stations=("check",))
    rack(ticket, oz, only=[1, 2, 3])
    tracking.rack(piece_at(ticket, 3).code, "A2", act(oz))
    pickup.scan(ticket.number, piece_at(ticket, 1).code, act(oz))
    pickup.hand_over(
        ticket.pickups.get().pk, "Ada", "slip", act(oz), owed_reason="later", part_of=6
    )
    pickup.scan(ticket.number, piece_at(ticket, 2).code, act(oz))
    tracking.hold(piece_at(ticket, 5).code, "Which button?", oz, timezone.localdate(), act(oz))
    now = counted_out(Ticket.objects.get(pk=ticket.pk))
    assert positions(now.gone) == [1]
    assert positions(now.scanned) == [2]
    assert positions(now.ready) == [3]
    assert positions(now.missing) == [4, 5, 6]
    assert now.open_count == 5
    assert positions(now.staying) == [3, 4, 5, 6]
    assert now.places == ["A1", "A2"]


def test_nothing_lies_on_the_counter_before_the_first_scan(oz: User) -> None:
    now = counted_out(rack(ticket_of(oz, 2, stations=("check",)), oz))
    assert (now.pickup, now.scanned, now.gone, now.missing) == (None, [], [], [])
    assert positions(now.ready) == [1, 2]


def test_tickets_are_found_ready_ones_first_then_by_promise_and_closed_ones_last(oz: User) -> None:
    customer, now = make_customer(), timezone.now()
    made = {
        word: ticket_of(
            oz, customer=customer, promised=now + timedelta(days=days), stations=("check",)
        )
        for word, days in (("later", 3), ("sooner", 2), ("ready", 4), ("soon", 1), ("gone", 0))
    }
    rack(made["ready"], oz)
    rack(made["gone"], oz)
    Ticket.objects.filter(pk=made["gone"].pk).update(closed_at=now)
    open_ones = ["ready", "soon", "sooner", "later"]
    for days, last in ((30, ["gone"]), (31, [])):
        at = now + timedelta(days=days)
        tickets = find("Brook", act(oz, at)).tickets
        words = {ticket.pk: word for word, ticket in made.items()}
        assert [words[ticket.pk] for ticket in tickets] == [*open_ones, *last]


def test_where_nothing_is_here_three_names_at_most_are_told(oz: User) -> None:
    for name in ("Ada Brook", "Bea Brook", "Cy Brook", "Di Brook"):
        make_customer(name, phone="")
    matches = find("Brook", act(oz))
    assert (matches.tickets, matches.only) == ([], None)
    assert matches.says.count(",") == 2
    assert matches.says.startswith("Nothing of ")
    assert len(matches.customers) == 4


def test_one_ticket_that_is_here_opens_at_once_and_one_beside_a_closed_one_does_not(
    oz: User,
) -> None:
    customer = make_customer()
    here = ticket_of(oz, customer=customer)
    assert find("Brook", act(oz)).only == here
    gone = ticket_of(oz, customer=customer)
    Ticket.objects.filter(pk=gone.pk).update(closed_at=timezone.now())
    assert find("Brook", act(oz)).only is None
    assert find(str(gone.number), act(oz)).only == gone
    Ticket.objects.filter(pk=here.pk).update(closed_at=timezone.now())
    assert find("Brook", act(oz)).only is None
