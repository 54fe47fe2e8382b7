"""Expected times, ways out and the day plan from the rows of a real shop."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, time, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests import building
from tests.building import outlook_of, queued_work
from tests.counter.rows import act, piece_at, ticket_of, work
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import services as loadbook
from tickets.models import ClosedDay, OpeningHours, RouteStep, StationCrew, Ticket
from tickets.plan.shop_day import DayPlan, day_plan
from tickets.plan.values import (
    EMPTY,
    FILL,
    HELD,
    MATCH,
    RUN,
    WORK,
    Block,
)
from tickets.promise import quote
from tickets.promise.open_work import forget_open_work
from tickets.promise.rescue import Rescue, WayKind, rescue
from tickets.promise.rush import made_late
from tickets.promise.tasks import Task
from tickets.shop.queries import read_calendar
from tickets.tracking import services as tracking

ROUND, MATCHING = 30, 10
"""Open minutes at each station until somebody takes a piece up, and to match a ticket."""


def hours(count: float) -> timedelta:
    return timedelta(hours=count)


def bench(
    by: User, morning: datetime, due: float, *, minutes: int = 60, rush: bool = False
) -> Ticket:
    """A ticket with this much bench work, promised so many hours after the morning."""
    ticket = ticket_of(
        by,
        stations=("bench",),
        minutes=minutes,
        opened=morning - hours(1),
        promised=morning + hours(due),
    )
    Ticket.objects.filter(pk=ticket.pk).update(rush=rush)
    ticket.refresh_from_db()
    return ticket


def minutes_after(morning: datetime, at: datetime) -> float:
    return (at - morning).total_seconds() / 60


# Expected times


def test_each_ticket_waits_for_what_must_begin_before_it(oz: User, morning: datetime) -> None:
    """Rush breaks a tie, and stands before nothing that may wait less."""
    late, early = bench(oz, morning, 20), bench(oz, morning, 5)
    rush = bench(oz, morning, 20, rush=True)
    tickets = outlook_of(morning).tickets
    own = 60 + ROUND + MATCHING + ROUND
    assert {n: minutes_after(morning, expected.at) for n, expected in tickets.items()} == {
        early.number: own,
        rush.number: 60 + own,
        late.number: 120 + own,
    }
    assert tickets[late.number].holds_up == Station.BENCH
    assert tickets[late.number].full_until == morning + hours(2)


def test_a_new_ticket_is_expected_before_its_own_promise(oz: User, morning: datetime) -> None:
    """The same sums on both sides: what was just promised is not at risk."""
    for _ in range(20):
        bench(oz, morning, 200)
    asked = [Task(Station.BENCH, 60.0)]
    promise = quote.earliest_ready([asked], morning, read_calendar(), queued_work())
    new = bench(oz, morning, minutes_after(morning, promise.ready_at) / 60)
    expected = outlook_of(morning).tickets[new.number]
    assert expected.at <= promise.ready_at
    assert outlook_of(morning).at_risk() == []


def test_work_that_is_done_brings_the_expected_time_forward(oz: User, morning: datetime) -> None:
    first, second = bench(oz, morning, 5), bench(oz, morning, 6)
    before = outlook_of(morning).tickets[second.number].at
    work(piece_at(first, 1), oz, until=Station.ASSEMBLY, at=morning)
    assert outlook_of(morning).tickets[second.number].at == before - hours(1)


def test_a_hold_is_what_holds_a_ticket_up_and_stands_in_nobodys_way(
    oz: User, morning: datetime
) -> None:
    held, other = bench(oz, morning, 5), bench(oz, morning, 6)
    tracking.hold(piece_at(held, 1).code, "Which button?", oz, morning.date(), act(oz, morning))
    tickets = outlook_of(morning).tickets
    hold = tickets[held.number].hold
    assert hold is not None
    assert hold.reason == "Which button?"
    assert minutes_after(morning, tickets[other.number].at) == 60 + ROUND + MATCHING + ROUND


def test_a_piece_goes_on_when_its_rail_is_over(oz: User, morning: datetime) -> None:
    ticket = ticket_of(
        oz, stations=("dry", "press"), minutes=5, opened=morning, promised=morning + hours(9)
    )
    RouteStep.objects.filter(step="dry").update(settings={"method": "hang"})
    work(piece_at(ticket, 1), oz, until=Station.PRESS, at=morning)
    [expected] = outlook_of(morning + hours(1)).tickets.values()
    # Hung at 8 for 12 hours (tickets/minutes.csv): pressed and matched from 8 the next morning.
    assert expected.at == morning + hours(24) + timedelta(minutes=5 + ROUND + MATCHING + ROUND)
    assert expected.holds_up == Station.DRY


def test_a_piece_in_a_drum_goes_on_when_its_run_ends(oz: User, morning: datetime) -> None:
    ticket = building.make_ticket(oz, [building.shirt(stains=[])], promised_at=morning + hours(9))
    piece = building.work_until(ticket.pieces.get(), Station.WASH, oz)
    before = outlook_of(timezone.now()).tickets[ticket.number].at
    load = building.make_load(oz, [piece])
    loadbook.close(load.pk, act(oz))
    loadbook.start(load.pk, act(oz))
    running = outlook_of(timezone.now()).tickets[ticket.number].at
    assert running < before


def test_a_shop_that_never_opens_says_so(oz: User, morning: datetime) -> None:
    OpeningHours.objects.all().delete()
    with pytest.raises(Refused, match="no open day"):
        day_plan(morning)


# Ways out


def way_out(ticket: Ticket, now: datetime) -> Rescue:
    outlook = outlook_of(now)
    return rescue(outlook, outlook.tickets[ticket.number])


def says(rescue: Rescue) -> list[tuple[str, str]]:
    return [(way.says, f"{timezone.localtime(way.at):%H:%M}") for way in rescue.ways]


def test_a_queue_before_a_ticket_is_passed_by_hand_and_shared_by_one_more_person(
    oz: User, morning: datetime
) -> None:
    """Five hours before it, an hour of its own and 70 minutes of rounds: 4 too many."""
    *_others, fifth = [bench(oz, morning, 7.05) for _ in range(5)]
    asked = bench(oz, morning, 7.1)
    outcome = way_out(asked, morning)
    assert says(outcome) == [("Carry by hand", "09:10"), ("One more at Bench", "12:40")]
    assert [way.late for way in outcome.ways] == [(fifth.number,), ()]


def test_what_is_carried_first_names_the_tickets_that_it_makes_late(
    oz: User, morning: datetime
) -> None:
    """Three hours of work go first: what was just in time is not any more."""
    in_time = bench(oz, morning, 2.2)
    asked = bench(oz, morning, 5, minutes=180)
    assert [expected.ticket.number for expected in outlook_of(morning).at_risk()] == [asked.number]
    [carried, *_others] = way_out(asked, morning).ways
    assert carried.late == (in_time.number,)


def test_a_longer_evening_is_named_with_the_least_hour_that_is_enough(
    oz: User, morning: datetime
) -> None:
    """54 minutes at a tenth of a person, and 70 of rounds: 10 more than the day is long."""
    StationCrew.objects.update_or_create(station="bench", defaults={"people": Decimal("0.1")})
    assert says(way_out(bench(oz, morning, 24, minutes=54), morning)) == [
        ("Carry by hand", "17:10"),
        ("Open until 19:00", "18:10"),
    ]


def test_every_way_out_that_is_named_holds_when_the_shop_really_takes_it(
    oz: User, morning: datetime
) -> None:
    """The engine is asked again with the change made in the rows."""
    for _ in range(6):
        bench(oz, morning, 8)
    asked = bench(oz, morning, 8.1)
    assert outlook_of(morning).tickets[asked.number].at > asked.promised_at
    moment_of = {way.kind: way.at for way in way_out(asked, morning).ways}
    StationCrew.objects.filter(station="bench").update(people=2)
    assert outlook_of(morning).tickets[asked.number].at <= moment_of[WayKind.PERSON]


def test_where_nothing_helps_the_customer_is_called_with_the_soonest_time(
    oz: User, morning: datetime
) -> None:
    asked = bench(oz, morning, 1, minutes=300)
    rescue = way_out(asked, morning)
    assert rescue.ways == ()
    assert rescue.soonest == morning + timedelta(minutes=300 + MATCHING)


def test_a_past_promise_can_only_be_told(oz: User, morning: datetime) -> None:
    asked = bench(oz, morning, -1, minutes=5)
    assert way_out(asked, morning).ways == ()


def test_a_hold_is_answered_first(oz: User, morning: datetime) -> None:
    held = bench(oz, morning, 5)
    tracking.hold(piece_at(held, 1).code, "Which button?", oz, morning.date(), act(oz, morning))
    outcome = way_out(held, morning)
    assert outcome.held
    assert says(outcome)[0] == ("Answer the question", "10:10")


def test_intake_and_the_late_list_name_the_same_tickets_made_late(
    oz: User, morning: datetime
) -> None:
    """The same work, asked once as a new rush ticket and once as an open ticket carried first."""
    for number in range(12):
        bench(oz, morning, 2 + 0.9 * number, minutes=40)
    routes = [[Task(Station.BENCH, 45.0)]]
    by_intake = made_late(outlook_of(morning), routes)
    asked = bench(oz, morning, 15, minutes=45)
    outlook = outlook_of(morning)
    assert by_intake
    assert set(by_intake) < set(outlook.tickets)
    assert made_late(outlook, outlook.cases[asked.number].routes, outlook.cases[asked.number]) == (
        by_intake
    )
    Ticket.objects.filter(pk=asked.pk).update(promised_at=morning + hours(9.5))
    asked.pieces.update(promised_at=morning + hours(9.5))
    [carried, *_others] = way_out(asked, morning).ways
    assert set(carried.late) <= set(by_intake)


# The day plan


def blocks(plan: DayPlan, kind: str) -> list[Block]:
    return [block for block in plan.played.blocks if block.kind == kind]


def accounted(plan: DayPlan) -> set[tuple[str, int]]:
    done = {step for block in plan.played.blocks for step in block.steps}
    left = {(row.code, order) for row in plan.played.left for order in row.orders}
    assert not done & left
    return done | left


def full_shop(by: User, tickets: int) -> None:
    building.make_machine("Washer 1")
    building.make_machine("Dryer 1", "dryer", 160)
    for number in range(tickets):
        facts = [building.shirt(), building.trousers(), building.jumper()]
        ticket = building.make_ticket(by, [facts[number % 3]])
        if number % 4 == 1:
            building.work_until(ticket.pieces.get(), Station.PRESS, by)


def test_every_open_step_of_the_shop_is_planned_or_left(oz: User, morning: datetime) -> None:
    full_shop(oz, 12)
    plan = day_plan(morning)
    steps = RouteStep.objects.filter(done_at__isnull=True)
    assert accounted(plan) == set(steps.values_list("piece__code", "order"))
    assert blocks(plan, RUN)
    assert blocks(plan, FILL)
    assert blocks(plan, MATCH)


def test_a_plan_begins_now_ends_at_closing_and_after_that_is_of_the_next_day(
    oz: User, morning: datetime
) -> None:
    bench(oz, morning, 20)
    noon, night = day_plan(morning + hours(4)), day_plan(morning + hours(12))
    assert (noon.begins, noon.is_today) == (morning + hours(4), True)
    assert (night.begins, night.is_today) == (morning + hours(24), False)
    [work_block] = blocks(night, WORK)
    assert night.at(work_block.start) == morning + hours(24)
    ClosedDay.objects.create(day=(morning + hours(24)).date())
    assert day_plan(morning + hours(12)).begins == morning + hours(48)


def test_nobody_works_in_the_break(oz: User, morning: datetime) -> None:
    OpeningHours.objects.update(break_from=time(12), break_until=time(13))
    for _ in range(5):
        bench(oz, morning, 20, minutes=100)
    plan = day_plan(morning)
    begins = [timezone.localtime(plan.at(block.start)).hour for block in blocks(plan, WORK)]
    assert begins == [8, 9, 11, 14, 15]


def test_a_held_piece_is_left_with_its_question(oz: User, morning: datetime) -> None:
    held = bench(oz, morning, 5)
    tracking.hold(piece_at(held, 1).code, "Which button?", oz, morning.date(), act(oz, morning))
    [left] = day_plan(morning).played.left
    assert (left.reason, left.words) == (HELD, "Which button?")


def test_an_open_load_keeps_its_machine_until_it_is_emptied(oz: User) -> None:
    ticket = building.make_ticket(oz, [building.shirt(stains=[])])
    piece = building.work_until(ticket.pieces.get(), Station.WASH, oz)
    load = building.make_load(oz, [piece])
    now = max(timezone.now(), read_calendar().next_open(timezone.now()))

    def kinds(at: datetime) -> list[tuple[str, int]]:
        plan = day_plan(at)
        assert accounted(plan) == set(
            RouteStep.objects.filter(done_at__isnull=True).values_list("piece__code", "order")
        )
        return [(block.kind, block.load) for block in plan.played.blocks if block.load]

    assert kinds(now) == [(RUN, load.pk)]
    loadbook.close(load.pk, act(oz))
    loadbook.start(load.pk, act(oz, now))
    assert kinds(now) == [(RUN, load.pk)]
    assert kinds(now + hours(3)) == [(EMPTY, load.pk)]  # its run is over by then
    loadbook.finish(load.pk, act(oz, now + hours(1)))
    assert kinds(now) == [(EMPTY, load.pk)]


@pytest.mark.parametrize("what", [outlook_of, day_plan])
def test_it_costs_the_same_queries_for_1_and_60_pieces(
    oz: User, morning: datetime, what: Callable[[datetime], object]
) -> None:
    def queries() -> int:
        forget_open_work()
        with CaptureQueriesContext(
            connection,
        ) as seen:
            what(morning)
        return len(seen)

    full_shop(oz, 1)
    with_one = queries()
    for number in range(59):
        bench(oz, morning, number, minutes=5)
    assert queries() == with_one


@pytest.mark.django_db
@pytest.mark.parametrize(("second", "microsecond", "minute"), [(0, 0, 20), (3, 932_940, 21)])
def test_a_plan_begins_with_a_full_minute(
    crew: User, second: int, microsecond: int, minute: int
) -> None:
    ticket_of(crew, 1)
    at = read_calendar().next_open(timezone.now()).replace(minute=20, second=0, microsecond=0)
    begins = day_plan(at.replace(second=second, microsecond=microsecond)).begins
    assert begins == at.replace(minute=minute)
