"""The promise of a real shop: rows in, promise, rush and learned margin out."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

import care_rules
from counter.roles import BACKROOM
from tests import building
from tests.building import jumper, make_ticket, outlook_of, queued_work, shirt, trousers
from tickets.choices import PieceState, Station
from tickets.models import Hold, Machine, MachineKind, RouteStep, StationCrew, Ticket
from tickets.pieces.decisions import planned_route
from tickets.promise import history, quote
from tickets.promise.margin import Margin
from tickets.promise.past import Past, misses
from tickets.promise.queries import shop_capacity, steps_since
from tickets.promise.rush import made_late
from tickets.promise.tasks import Task
from tickets.shop.queries import read_calendar
from tickets.shop.services import save_machine

HEM = [Task(Station.BENCH, 20.0), Task(Station.PRESS, 5.0)]
SOON = timedelta(minutes=5)
ENOUGH = 30
"""Past tickets of one kind of way from which on they count."""


@pytest.fixture
def ada(db: object) -> User:
    building.make_shop()
    return building.make_user(BACKROOM)


@pytest.fixture
def morning() -> datetime:
    """Eight in the shop's morning, on a day to come."""
    local = timezone.localtime(timezone.now()) + timedelta(days=1)
    return local.replace(hour=8, minute=0, second=0, microsecond=0)


def promise(now: datetime, *, rush: bool = False) -> quote.Promise:
    backlog = queued_work(now, only_rush=rush)
    return quote.earliest_ready([HEM], now, read_calendar(), backlog)


def test_a_full_bench_is_named_with_the_day_until_which_it_is_full(
    ada: User, morning: datetime
) -> None:
    for _ in range(60):
        make_ticket(ada, [trousers()], promised_at=morning + SOON)
    outcome = promise(morning)
    until = queued_work().queue.ahead()[Station.BENCH]
    day = timezone.localtime(read_calendar().add_minutes(morning, until))
    assert outcome.hangs_on == Station.BENCH
    assert outcome.reason == f"Full until {day:%A} {day.day} {day:%B}: Bench."


def test_an_empty_shop_promises_the_same_day(ada: User, morning: datetime) -> None:
    outcome = promise(morning)
    # 25 minutes of work, 10 to match it, three rounds of 30; a fifth of that on top: 2 h 30.
    assert outcome.ready_at == morning + timedelta(hours=2, minutes=30)
    assert outcome.reason == "Most of the time goes to: Bench."


def test_a_second_person_at_the_bench_brings_the_promise_forward(
    ada: User, morning: datetime
) -> None:
    for _ in range(40):
        make_ticket(ada, [trousers()], promised_at=morning + SOON)
    alone = promise(morning)
    StationCrew.objects.filter(station=Station.BENCH).update(people=Decimal(2))
    assert promise(morning).ready_at < alone.ready_at


def test_a_person_there_for_half_the_day_does_half_the_work(ada: User, morning: datetime) -> None:
    make_ticket(ada, [trousers()] * 10, promised_at=morning + SOON)

    def bench() -> float:
        return queued_work().queue.ahead()[Station.BENCH]

    whole = bench()
    StationCrew.objects.filter(station=Station.BENCH).update(minutes_a_day=300)  # of 600
    assert bench() == pytest.approx(2 * whole)


def test_a_small_washer_holds_the_promise_up_and_a_second_one_helps(
    ada: User, morning: datetime
) -> None:
    make_ticket(ada, [shirt()] * 60, promised_at=morning + SOON)
    StationCrew.objects.create(station=Station.WASH, people=Decimal(20))
    free = queued_work().queue.ahead()[Station.WASH]
    for name in ("Left", "Right"):
        save_machine(Machine(name=name, kind=MachineKind.WASHER, litres=Decimal(60), spin_g=350))
    both = queued_work().queue.ahead()[Station.WASH]
    Machine.objects.filter(name="Right").update(in_use=False)
    with_one = queued_work().queue.ahead()[Station.WASH]
    assert free < both
    assert with_one == pytest.approx(2 * both)


def test_full_shelves_hold_the_promise_of_a_jumper_up(ada: User, morning: datetime) -> None:
    """A jumper lies for 24 hours: with one place, the second and third wait a day and two."""
    lies = Task(Station.DRY, 3.0, 1440.0, place="flat")

    def day_of(jumpers: int, places: int) -> int:
        Machine.objects.all().delete()
        if places:
            building.make_machine("Shelves", "flat", 0, most_pieces=places)
        backlog = queued_work()
        outcome = quote.earliest_ready([[lies]] * jumpers, morning, read_calendar(), backlog)
        return (outcome.ready_at - morning).days

    with_room = day_of(3, 0)
    assert [day_of(3, places) - with_room for places in (3, 2, 1)] == [0, 1, 2]
    make_ticket(ada, [jumper()] * 2, promised_at=morning + SOON)
    assert day_of(1, 2) - day_of(1, 3) == 1
    route = planned_route(jumper(), care_rules.decide(care_rules.parse_facts(jumper())))
    assert {task.place for task in route if task.waits > 600} == {"flat"}


def test_rush_names_the_tickets_it_would_make_late(ada: User, morning: datetime) -> None:
    """In time with five minutes to spare; an hour at the bench ends after it comes there."""
    first = make_ticket(ada, [trousers()], promised_at=morning + timedelta(days=2))
    tight = outlook_of(morning).tickets[first.number].at + SOON
    Ticket.objects.filter(pk=first.pk).update(promised_at=tight)
    first.pieces.update(promised_at=tight)
    make_ticket(ada, [trousers()], promised_at=morning + timedelta(days=2))
    hour = [Task(Station.BENCH, 60.0)]
    assert made_late(outlook_of(morning), [hour]) == [first.number]
    assert made_late(outlook_of(morning), [HEM[1:]]) == []


def test_before_opening_nothing_stands_before_the_first_in_line(
    ada: User, morning: datetime
) -> None:
    """The hours until the shop opens are no queue."""
    closed = morning - timedelta(hours=2)
    first = make_ticket(ada, [trousers()], promised_at=morning + SOON)
    later = make_ticket(ada, [trousers()] * 9, promised_at=morning + timedelta(days=9))
    tickets = outlook_of(closed).tickets
    assert tickets[first.number].full_until is None
    assert tickets[later.number].full_until is not None


def test_rush_waits_for_ordinary_work_that_must_begin_now(ada: User, morning: datetime) -> None:
    """What is at risk goes before it on every board, and so in its promise; the rest does not."""
    alone = promise(morning, rush=True)
    make_ticket(ada, [trousers()] * 9, promised_at=morning + timedelta(days=9))
    assert promise(morning, rush=True) == alone
    at_risk = make_ticket(ada, [trousers()] * 9, promised_at=morning + SOON)
    assert promise(morning, rush=True).ready_at > alone.ready_at
    at_risk.pieces.update(state=PieceState.HELD)
    assert promise(morning, rush=True) == alone


def test_a_promise_costs_the_same_queries_for_one_and_for_many(
    ada: User, morning: datetime
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as made:
            promise(morning)
        return len(made)

    make_ticket(ada, [jumper()])
    for_one = queries()
    make_ticket(ada, [jumper(), shirt(), trousers()] * 5)
    assert queries() == for_one


# What the shop's own past teaches


def finished(ada: User, came: datetime, ready: datetime) -> Ticket:
    """A ticket whose steps are done and which is ready, by the rows that the lesson reads."""
    ticket = make_ticket(ada, [trousers()], at=came)
    RouteStep.objects.filter(piece__ticket=ticket).update(done_at=ready)
    Ticket.objects.filter(pk=ticket.pk).update(ready_at=ready)
    return Ticket.objects.get(pk=ticket.pk)


def learned_margin() -> Margin:
    """As it is learned at the start of a server."""
    return history.look_back(timezone.now())


def test_tickets_that_came_late_teach_a_wider_margin(ada: User, morning: datetime) -> None:
    came = morning - timedelta(days=9)
    for number in range(ENOUGH - 1):
        at = came + timedelta(minutes=number)
        finished(ada, at, at + timedelta(days=2))
    assert learned_margin() == Margin()
    finished(ada, came, came + timedelta(days=2))
    learned = learned_margin()
    assert learned.tickets == ENOUGH
    assert learned.minutes("at once", 60) > Margin().minutes("at once", 60, rounds=90)


def test_the_miss_is_counted_in_opening_time_against_the_first_forecast(
    ada: User, morning: datetime
) -> None:
    came = morning - timedelta(days=9)
    ready = came + timedelta(days=1)  # ten open hours later
    ticket = finished(ada, came, ready)
    past = Past(ticket.number, came, ready, ticket.promised_at)
    steps = steps_since(came)
    [(_row, miss)] = misses([past], steps, read_calendar(), shop_capacity())
    work = sum(float(step.minutes) for step in RouteStep.objects.filter(piece__ticket=ticket))
    assert (miss.path, miss.minutes) == (work, 600 - work)


def test_a_past_ticket_waited_for_what_was_open_then_and_due_by_its_promise(
    ada: User, morning: datetime
) -> None:
    """Not for what was done before it came, was promised later, or came after it."""
    came, calendar = morning - timedelta(days=9), read_calendar()

    def with_others(*others: Ticket) -> float:
        past = Past(ticket.number, came, came + timedelta(days=1), promised)
        numbers = {ticket.number, *(other.number for other in others)}
        steps = [step for step in steps_since(first) if step.number in numbers]
        [(_row, miss)] = misses([past], steps, calendar, shop_capacity())
        return miss.path

    def other(at: datetime, done: datetime, due: datetime) -> Ticket:
        made = finished(ada, at, done)
        made.pieces.update(promised_at=due)
        return made

    first, promised = came - timedelta(days=3), came + timedelta(days=2)
    ticket = finished(ada, came, came + timedelta(days=1))
    before, after = came - timedelta(hours=1), came + timedelta(hours=1)
    waits_for = other(before, after, promised)
    own = with_others()
    bench = RouteStep.objects.filter(piece__ticket=ticket, station=Station.BENCH)
    assert with_others(waits_for) == own + float(bench.get().minutes)
    done = other(before, came - timedelta(minutes=1), promised)
    later = other(before, after, promised + timedelta(minutes=1))
    came_after = other(after, after, promised)
    assert with_others(done, later, came_after) == own


def test_the_steps_of_a_piece_are_read_in_the_order_of_its_route(
    ada: User, morning: datetime
) -> None:
    """The look back plays each piece from its first step to its last."""
    for _ in range(2):
        make_ticket(ada, [shirt(), trousers()], at=morning)
    read: dict[int, list[str]] = {}
    for step in steps_since(morning):
        read.setdefault(step.piece, []).append(step.task.station)
    rows = RouteStep.objects.order_by("piece", "order")
    assert read == {
        piece: [row.station for row in rows if row.piece_id == piece]
        for piece in {row.piece_id for row in rows}
    }
    assert [step.piece for step in steps_since(morning)] == [row.piece_id for row in rows]


def test_rush_and_held_tickets_teach_nothing(ada: User, morning: datetime) -> None:
    came = morning - timedelta(days=9)
    tickets = [finished(ada, came, came + timedelta(days=2)) for _ in range(ENOUGH)]
    Ticket.objects.filter(pk=tickets[0].pk).update(rush=True)
    assert learned_margin() == Margin()
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
    assert learned_margin() == Margin()


def test_an_open_ticket_teaches_once_it_is_overdue(ada: User, morning: datetime) -> None:
    came = morning - timedelta(days=9)
    for number in range(ENOUGH):
        at = came + timedelta(minutes=number)
        finished(ada, at, at + timedelta(hours=2))
    assert learned_margin().tickets == ENOUGH
    make_ticket(ada, [trousers()], at=came)
    make_ticket(ada, [trousers()] * 9, at=timezone.now())  # of today, and not expected yet
    overdue = learned_margin()
    assert overdue.tickets == ENOUGH + 1
    assert overdue.minutes("at once", 60) >= 5 * 600  # days late, and counted as that
