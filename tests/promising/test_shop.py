"""The promise of a real shop: rows in, promise, rush and learned margin out."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from counter.roles import BACKROOM
from tests import building
from tests.building import jumper, make_ready, make_ticket, shirt, trousers
from tickets import hindsight, machinery, scheduling
from tickets.calendar import ShopCalendar
from tickets.choices import Station
from tickets.models import Hold, Machine, MachineKind, RouteStep, StationCrew, Ticket
from tickets.promising import Margin
from tickets.promising.margin import ENOUGH
from tickets.scheduling import PlannedStep

HEM = [PlannedStep(Station.BENCH, 20.0), PlannedStep(Station.PRESS, 5.0)]
SOON = timedelta(minutes=5)


@pytest.fixture
def ada(db: object) -> User:
    building.make_shop()
    return building.make_user(BACKROOM)


@pytest.fixture
def morning() -> datetime:
    """Eight in the shop's morning, on a day to come."""
    local = timezone.localtime(timezone.now()) + timedelta(days=1)
    return local.replace(hour=8, minute=0, second=0, microsecond=0)


def promise(now: datetime, *, rush: bool = False) -> scheduling.Promise:
    backlog = scheduling.queued_minutes(only_rush=rush)
    return scheduling.earliest_ready([HEM], now, ShopCalendar.load(), backlog)


def test_a_full_bench_is_named_with_the_day_until_which_it_is_full(
    ada: User, morning: datetime
) -> None:
    for _ in range(60):
        make_ticket(ada, [trousers()], promised_at=morning + SOON)
    found = promise(morning)
    until = scheduling.queued_minutes().queue.ahead()[Station.BENCH]
    day = timezone.localtime(ShopCalendar.load().add_minutes(morning, until))
    assert found.hangs_on == Station.BENCH
    assert found.reason == f"Full until {day:%A} {day.day} {day:%B}: Bench."


def test_an_empty_shop_promises_the_same_day(ada: User, morning: datetime) -> None:
    found = promise(morning)
    # 25 minutes of work, 10 to match it, three rounds of 30; a fifth of that on top: 2 h 30.
    assert found.ready_at == morning + timedelta(hours=3)
    assert found.reason == "Most of the time goes to: Bench."


def test_a_second_person_at_the_bench_brings_the_promise_forward(
    ada: User, morning: datetime
) -> None:
    for _ in range(40):
        make_ticket(ada, [trousers()], promised_at=morning + SOON)
    alone = promise(morning)
    StationCrew.objects.filter(station=Station.BENCH).update(people=Decimal(2))
    assert promise(morning).ready_at < alone.ready_at


def test_a_small_washer_holds_the_promise_up_and_a_second_one_helps(
    ada: User, morning: datetime
) -> None:
    make_ticket(ada, [shirt()] * 60, promised_at=morning + SOON)
    StationCrew.objects.create(station=Station.WASH, people=Decimal(20))
    free = scheduling.queued_minutes().queue.ahead()[Station.WASH]
    for name in ("Left", "Right"):
        machinery.save_machine(
            Machine(name=name, kind=MachineKind.WASHER, litres=Decimal(60), spin_g=350)
        )
    both = scheduling.queued_minutes().queue.ahead()[Station.WASH]
    Machine.objects.filter(name="Right").update(in_use=False)
    one = scheduling.queued_minutes().queue.ahead()[Station.WASH]
    assert free < both
    assert one == pytest.approx(2 * both)


def test_rush_names_the_tickets_it_would_make_late(ada: User, morning: datetime) -> None:
    work = RouteStep.objects.filter(station=Station.BENCH)
    first = make_ticket(ada, [trousers()], promised_at=morning + timedelta(days=2))
    minutes = float(work.get(piece__ticket=first).minutes)
    tight = morning + timedelta(minutes=minutes + 15)
    Ticket.objects.filter(pk=first.pk).update(promised_at=tight)
    first.pieces.update(promised_at=tight)
    make_ticket(ada, [trousers()], promised_at=morning + timedelta(days=2))
    calendar = ShopCalendar.load()
    assert scheduling.rush_cost([HEM], morning, calendar) == [first.number]
    assert scheduling.rush_cost([HEM[1:]], morning, calendar) == []


def test_a_promise_costs_the_same_queries_for_one_and_for_many(
    ada: User, morning: datetime
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as made:
            promise(morning)
        return len(made)

    make_ticket(ada, [jumper()])
    one = queries()
    make_ticket(ada, [jumper(), shirt(), trousers()] * 5)
    assert queries() == one


# What the shop's own past teaches


def finished(ada: User, came: datetime, ready: datetime) -> Ticket:
    """A ticket worked and racked; its clock times are set afterwards."""
    ticket = make_ready(make_ticket(ada, [trousers()], at=came), ada)
    RouteStep.objects.filter(piece__ticket=ticket).update(done_at=ready)
    Ticket.objects.filter(pk=ticket.pk).update(ready_at=ready)
    return Ticket.objects.get(pk=ticket.pk)


def test_tickets_that_came_late_teach_a_wider_margin(ada: User, morning: datetime) -> None:
    calendar, capacity = ShopCalendar.load(), scheduling.shop_capacity()
    came = morning - timedelta(days=9)
    for number in range(ENOUGH - 1):
        at = came + timedelta(minutes=number)
        finished(ada, at, at + timedelta(days=2))
    assert hindsight.learned_margin(calendar, capacity) == Margin()
    finished(ada, came, came + timedelta(days=2))
    learned = hindsight.learned_margin(calendar, capacity)
    assert learned.tickets == ENOUGH
    assert learned.shares["at once"] > Margin().minutes("at once", 1)


def test_the_miss_is_counted_in_opening_time_against_the_first_forecast(
    ada: User, morning: datetime
) -> None:
    came = morning - timedelta(days=9)
    ready = came + timedelta(days=1)  # ten open hours later
    ticket = finished(ada, came, ready)
    past = hindsight.Past(ticket.number, came, ready, ticket.promised_at)
    steps = hindsight._steps_since(came)
    miss = hindsight.miss_of(past, steps, ShopCalendar.load(), scheduling.shop_capacity())
    assert miss is not None
    work = sum(float(step.minutes) for step in RouteStep.objects.filter(piece__ticket=ticket))
    stations = {step.station for step in RouteStep.objects.filter(piece__ticket=ticket)}
    assert (miss.path, miss.minutes) == (work + 30 * len(stations), 600 - work - 30 * len(stations))


def test_rush_and_held_tickets_teach_nothing(ada: User, morning: datetime) -> None:
    calendar, capacity = ShopCalendar.load(), scheduling.shop_capacity()
    came = morning - timedelta(days=9)
    tickets = [finished(ada, came, came + timedelta(days=2)) for _ in range(ENOUGH)]
    Ticket.objects.filter(pk=tickets[0].pk).update(rush=True)
    assert hindsight.learned_margin(calendar, capacity) == Margin()
    Ticket.objects.filter(pk=tickets[0].pk).update(rush=False)
    Hold.objects.create(
        piece=tickets[1].pieces.get(),
        reason="zip?",
        owner=ada,
        opened_by=ada,
        ask_again_on=came.date(),
        opened_at=came,
        ended_at=came,
    )
    assert hindsight.learned_margin(calendar, capacity) == Margin()
