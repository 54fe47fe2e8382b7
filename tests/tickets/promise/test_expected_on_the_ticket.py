"""The page of a ticket answers "when?" from the same sums as the late list."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests import building
from tests.building import outlook_of
from tests.counter.rows import ticket_of
from tickets.acting import Act
from tickets.choices import Station
from tickets.models import OpeningHours, RouteStep, Ticket
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
    expected = outlook_of(now).tickets[ticket.number]
    page = text_of(desk, ticket)
    day = promise_words(expected.at, now).rsplit(" ", 1)[0]
    assert f"<dt>Expected</dt> <dd> {day}" in page
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
    assert "Expected" not in text_of(desk, ticket)
    building.make_shop()
    building.make_ready(ticket, crew)
    assert "Expected" not in text_of(desk, ticket)


def test_what_only_has_to_be_hung_up_is_expected_when_people_are_there(
    crew: User, ticket: Ticket
) -> None:
    piece = building.work_until(ticket.pieces.get(), Station.ASSEMBLY, crew)
    tracking.assemble(piece.code, Act(by=crew))
    tonight = timezone.localtime(timezone.now()).replace(hour=22, minute=0, second=0, microsecond=0)
    opens = (tonight + timedelta(days=1)).replace(hour=8)
    assert outlook_of(tonight).tickets[ticket.number].at == opens


def test_nothing_stands_before_a_ticket_that_is_alone_in_the_shop(crew: User) -> None:
    """One of its pieces goes before the other: that is work of its own, by hand and in a drum."""
    building.make_machine("Washer 1", "washer", 70)
    building.make_machine("Dryer 1", "dryer", 160)
    unpressed = building.shirt(stains=[], services=["clean"])
    ticket = building.make_ticket(crew, [building.shirt(stains=[]), unpressed])
    outlook = building.outlook_of(timezone.now())
    case = outlook.cases[ticket.number]
    assert len({turn for turns in case.turns for turn in turns[:1]}) == 2
    assert outlook.before(case).minutes(outlook.capacity) == {}
    building.make_ticket(crew, [building.shirt(stains=[])])
    behind = building.outlook_of(timezone.now())
    last = behind.cases[max(behind.cases)]
    assert behind.before(last).minutes(behind.capacity).keys() >= {"wash", "dry"}


def test_work_goes_before_a_ticket_until_the_last_of_its_pieces_has_come(
    crew: User,
) -> None:
    local = timezone.localtime(timezone.now()) + timedelta(days=1)
    morning = local.replace(hour=8, minute=0, second=0, microsecond=0)
    ticket = ticket_of(crew, 2, stations=("bench",), promised=morning + timedelta(hours=8))
    RouteStep.objects.filter(piece__position=1).update(minutes=200)
    between = ticket_of(crew, stations=("bench",), promised=morning + timedelta(hours=6))
    RouteStep.objects.filter(piece__ticket=between).update(minutes=45)
    outlook = outlook_of(morning)
    case = outlook.cases[ticket.number]
    first, last = sorted(turn for turn, *_rest in case.turns)
    assert case.last_turns()["bench"] == last
    assert first < outlook.cases[between.number].turns[0][0] < last
    assert outlook.before(case).minutes(outlook.capacity)["bench"] == pytest.approx(45)
