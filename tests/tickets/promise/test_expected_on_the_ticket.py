"""The page of a ticket answers "when?" from the same sums as the late list."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests import building
from tickets.acting import Act
from tickets.choices import Station
from tickets.models import OpeningHours, Ticket
from tickets.promise.expected import outlook_of
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking
from tickets.wording import promise_words


def text_of(client: Client, ticket: Ticket) -> str:
    return " ".join(client.get(f"/tickets/{ticket.number}/").content.decode().split())


@pytest.fixture
def ticket(crew: User) -> Ticket:
    return building.make_ticket(crew, [building.shirt(stains=[])])


def test_an_open_ticket_says_when_it_is_expected_and_what_takes_longest(
    desk: Client, ticket: Ticket
) -> None:
    now = timezone.now()
    found = outlook_of(now).tickets[ticket.number]
    page = text_of(desk, ticket)
    assert "expected " in page
    day = promise_words(found.at, now).rsplit(" ", 1)[0]
    assert f"expected {day}" in page
    assert "held up most at" in page


def test_a_held_ticket_says_that_it_hangs_on_the_answer(
    desk: Client, crew: User, ticket: Ticket
) -> None:
    tomorrow = business_day() + timedelta(days=1)
    code = ticket.pieces.get().code
    tracking.hold(code, "Which button?", crew, tomorrow, Act(by=crew))
    assert ", if its question is answered now" in text_of(desk, ticket)


def test_a_ready_ticket_and_a_shop_that_never_opens_expect_nothing(
    desk: Client, crew: User, ticket: Ticket
) -> None:
    OpeningHours.objects.all().delete()
    assert "expected" not in text_of(desk, ticket)
    building.make_shop()
    building.make_ready(ticket, crew)
    assert "expected" not in text_of(desk, ticket)


def test_what_only_has_to_be_hung_up_is_expected_when_people_are_there(
    crew: User, ticket: Ticket
) -> None:
    piece = building.work_until(ticket.pieces.get(), Station.ASSEMBLY, crew)
    tracking.assemble(piece.code, Act(by=crew))
    tonight = timezone.localtime(timezone.now()).replace(hour=22, minute=0, second=0, microsecond=0)
    opens = (tonight + timedelta(days=1)).replace(hour=8)
    assert outlook_of(tonight).tickets[ticket.number].at == opens
