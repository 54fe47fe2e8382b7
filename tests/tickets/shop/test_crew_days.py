"""Days with another crew: what the owner or the counter says, and who reckons with it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from counter.owner.now import tomorrows_load
from counter.shop.services import close_on
from tests import building
from tests.building import make_ticket, outlook_of, queued_work, trousers
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import CrewDay, RouteStep, StationCrew
from tickets.plan.sheet import plan_sheet
from tickets.plan.shop_day import day_plan
from tickets.plan.values import NOBODY
from tickets.promise import quote
from tickets.promise.capacity import Spell
from tickets.promise.open_work import forget_open_work
from tickets.promise.past import Past, misses
from tickets.promise.queries import shop_capacity, steps_since
from tickets.promise.tasks import Task
from tickets.shop.calendar import business_day, start_of
from tickets.shop.queries import read_calendar
from tickets.shop.services import set_crew_on

HEM = [Task(Station.BENCH, 20.0), Task(Station.PRESS, 5.0)]


def day(ahead: int) -> date:
    return business_day() + timedelta(days=ahead)


@pytest.fixture
def morning() -> datetime:
    """Eight in the shop's morning of tomorrow."""
    local = timezone.localtime(timezone.now()) + timedelta(days=1)
    return local.replace(hour=8, minute=0, second=0, microsecond=0)


def told() -> dict[tuple[str, date], Decimal]:
    return {(row.station, row.day): row.people for row in CrewDay.objects.all()}


# The door


def test_a_stretch_sets_each_open_day_of_it(crew: User) -> None:
    close_on(day(2), "")
    assert set_crew_on(Station.PRESS, Decimal("0.5"), day(1), day(3)) == 2
    assert told() == {("press", day(1)): Decimal("0.5"), ("press", day(3)): Decimal("0.5")}


def test_the_last_word_counts_and_as_many_as_usual_takes_the_day_off(crew: User) -> None:
    StationCrew.objects.create(station=Station.PRESS, people=2)
    set_crew_on(Station.PRESS, Decimal(1), day(0), day(4))
    set_crew_on(Station.PRESS, Decimal(0), day(1), day(1))
    set_crew_on(Station.PRESS, Decimal(2), day(2), day(4))
    assert told() == {("press", day(0)): Decimal(1), ("press", day(1)): Decimal(0)}
    set_crew_on(Station.CHECK, Decimal(1), day(0), day(0))  # one is usual where none is told
    assert len(told()) == 2


@pytest.mark.parametrize(
    ("people", "first", "last", "code"),
    [
        ("-0.5", 1, 1, "bad_crew"),
        ("99.5", 1, 1, "bad_crew"),
        ("NaN", 1, 1, "bad_crew"),
        ("1", -1, 2, "day_is_past"),
        ("1", 2, 1, "bad_stretch"),
        ("1", 0, 92, "bad_stretch"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(
    crew: User, people: str, first: int, last: int, code: str
) -> None:
    with pytest.raises(Refused) as no:
        set_crew_on(Station.BENCH, Decimal(people), day(first), day(last))
    assert no.value.code == code
    assert not told()


def test_a_stretch_of_closed_days_is_refused(crew: User) -> None:
    close_on(day(1), "")
    with pytest.raises(Refused, match="closed"):
        set_crew_on(Station.BENCH, Decimal(0), day(1), day(1))


def test_the_table_knows_each_day_of_a_station_once_and_nobody_less_than_none(crew: User) -> None:
    CrewDay.objects.create(station=Station.BENCH, day=day(1), people=0)
    for bad in ({"people": 1}, {"people": -1, "day": day(2)}):
        with pytest.raises(IntegrityError), transaction.atomic():
            CrewDay.objects.create(**{"station": Station.BENCH, "day": day(1), **bad})


# Who reckons with it


def test_the_promise_waits_for_a_day_on_which_somebody_is_at_the_bench(
    crew: User, morning: datetime
) -> None:
    def promise() -> datetime:
        backlog = queued_work()
        return quote.earliest_ready([HEM], morning, read_calendar(), backlog).ready_at

    before = promise()
    set_crew_on(Station.BENCH, Decimal(0), day(1), day(2))
    assert promise() - before == timedelta(days=2)
    set_crew_on(Station.BENCH, Decimal(1), day(1), day(2))
    assert promise() == before


def test_capacity_has_a_spell_for_the_shops_whole_day(crew: User) -> None:
    StationCrew.objects.create(station=Station.PRESS, people=2, minutes_a_day=300)
    CrewDay.objects.create(station=Station.PRESS, day=day(1), people=1)
    CrewDay.objects.create(station=Station.PRESS, day=day(-1), people=0)
    whole = Spell(start_of(day(1)), start_of(day(2)), 0.5)
    assert shop_capacity().spells == {"press": [whole]}
    assert len(shop_capacity(since=day(-1)).spells["press"]) == 2


def test_more_hands_than_presses_or_at_a_drum_promise_nothing(crew: User) -> None:
    StationCrew.objects.create(station=Station.PRESS, people=2)
    building.make_machine("Press 1", "press", 0)
    building.make_machine("Press 2", "press", 0)
    building.make_machine("Washer 1")
    for station in (Station.PRESS, Station.WASH, Station.CHECK):
        set_crew_on(station, Decimal(4), day(1), day(1))
    spells = shop_capacity().spells
    assert {station: spell.share for station, [spell] in spells.items()} == {
        "press": 1.0,
        "wash": 1.0,
        "check": 4.0,
    }


def test_the_late_list_and_the_plan_see_that_nobody_is_at_the_bench(
    crew: User, morning: datetime
) -> None:
    ticket = make_ticket(crew, [trousers()], promised_at=morning + timedelta(hours=8))
    assert ticket.number not in [
        expected.ticket.number for expected in outlook_of(morning).at_risk()
    ]
    set_crew_on(Station.BENCH, Decimal(0), day(1), day(1))
    assert ticket.number in [expected.ticket.number for expected in outlook_of(morning).at_risk()]
    plan = day_plan(morning)
    assert NOBODY in [left.reason for left in plan.played.left]
    assert not [lane for lane in plan.played.lanes if lane.station == Station.BENCH]
    [group] = [expected for expected in plan_sheet(plan).left if "Nobody works" in expected.says]
    assert group.says == "Nobody works at Bench on this day."


def test_tomorrows_jam_reckons_with_tomorrows_crew(crew: User) -> None:
    late = start_of(day(0)) + timedelta(hours=23, minutes=50)
    make_ticket(crew, [trousers()] * 3)

    def there() -> float:
        _next, loads = tomorrows_load(late, read_calendar())
        return next(load.tomorrow for load in loads if load.station == Station.BENCH)

    usual = there()
    set_crew_on(Station.BENCH, Decimal("0.5"), day(1), day(1))
    assert there() == usual / 2


def test_the_lesson_of_a_past_ticket_counts_who_was_away_on_its_day(
    crew: User, morning: datetime
) -> None:
    """Known then, so that day's short crew is in the forecast; a later one is not."""
    came = morning - timedelta(days=9)
    ticket = make_ticket(crew, [trousers()], at=came)
    RouteStep.objects.filter(piece__ticket=ticket).update(done_at=came + timedelta(days=2))
    past = Past(ticket.number, came, came + timedelta(days=2), ticket.promised_at)

    def miss(**away: int) -> float:
        CrewDay.objects.all().delete()
        for ahead in away.values():
            then = business_day(came) + timedelta(days=ahead)
            CrewDay.objects.create(station=Station.BENCH, day=then, people=0)
        steps, capacity = steps_since(came), shop_capacity(since=business_day(came))
        [(_row, lesson)] = misses([past], steps, read_calendar(), capacity)
        return lesson.minutes

    look = 1.5  # minutes before the bench, which pass on the day itself
    assert miss(same_day=0) == miss() - (600 - look)
    assert miss(next_day=1) == miss()


def test_the_plans_queries_do_not_grow_with_days_told(crew: User, morning: datetime) -> None:
    def queries() -> int:
        forget_open_work()
        with CaptureQueriesContext(connection) as made:
            day_plan(morning)
            outlook_of(morning)
        return len(made)

    make_ticket(crew, [trousers()])
    none = queries()
    set_crew_on(Station.PRESS, Decimal(0), day(2), day(60))
    assert queries() == none


# The page

FORM = {"station": "bench", "people": "0.5"}


def test_the_counter_says_who_is_away_and_takes_it_back(desk: Client) -> None:
    answer = desk.post("/plan/crew/", {**FORM, "first": day(1).isoformat()}, follow=True)
    page = answer.content.decode()
    assert "1 day is set. It counts for new promises." in page
    row = CrewDay.objects.get()
    assert (row.station, row.day, row.people) == ("bench", day(1), Decimal("0.5"))
    for _ in range(2):
        answer = desk.post("/plan/crew/", {"usual": str(row.pk)}, follow=True)
        assert "The usual crew counts again." in answer.content.decode()
    assert not told()


def test_sent_twice_it_is_set_once(desk: Client) -> None:
    for _ in range(2):
        desk.post("/plan/crew/", {**FORM, "first": day(1).isoformat(), "last": day(2).isoformat()})
    assert len(told()) == 2


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"people": "two"}, "Write how many people are there, from 0 to 99."),
        ({"people": "-1"}, "Write a number from 0 to 99"),
        ({"people": ""}, "This field is required."),
        ({"station": "attic"}, "attic is not one of the available choices"),
        ({"first": "2026-02-30"}, "Enter a valid date."),
        ({"first": "2020-01-01"}, "2020-01-01 is past."),
    ],
)
def test_the_page_says_what_is_wrong_and_keeps_what_was_typed(
    desk: Client, typed: dict[str, str], says: str
) -> None:
    answer = desk.post("/plan/crew/", {**FORM, "first": day(1).isoformat(), **typed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert says in page
    assert not told()


def test_wrong_method_and_wrong_role(desk: Client, back: Client) -> None:
    assert desk.put("/plan/crew/").status_code == 405
    assert back.get("/plan/crew/").status_code == 403
    assert back.post("/plan/crew/", {**FORM, "first": day(1).isoformat()}).status_code == 403
    assert not told()


def test_the_plan_leads_there_for_those_who_may(desk: Client, back: Client) -> None:
    assert "/plan/crew/" in desk.get("/plan/").content.decode()
    assert "/plan/crew/" not in back.get("/plan/").content.decode()
