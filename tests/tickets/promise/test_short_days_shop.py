"""Short days in a real shop: what brings a ticket back, days far off, nobody to match, the clock's
two odd nights."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests.building import make_ticket, outlook_of, trousers
from tests.tickets.plan.played_days import TEN_HOURS, WASHER, blocks_of, hand, in_machine, job
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import CrewDay, StationCrew
from tickets.plan.play import play
from tickets.plan.values import MINUTE, NOBODY, RUN, Day, StandingLoad
from tickets.promise.capacity import Capacity
from tickets.promise.engine import forecast
from tickets.promise.queries import shop_capacity
from tickets.promise.rescue import rescue
from tickets.promise.tasks import Task
from tickets.shop import crews
from tickets.shop.calendar import ShopCalendar, business_day
from tickets.shop.services import set_crew_on

HEM = [Task(Station.BENCH, 20.0)]


@pytest.fixture
def morning() -> datetime:
    """Eight in the shop's morning of tomorrow."""
    local = timezone.localtime(timezone.now()) + timedelta(days=1)
    return local.replace(hour=8, minute=0, second=0, microsecond=0)


def ways(now: datetime, number: int) -> list[tuple[str, datetime]]:
    outlook = outlook_of(now)
    return [(way.says, way.at) for way in rescue(outlook, outlook.tickets[number]).ways]


def test_where_nobody_is_there_one_more_person_brings_a_ticket_back(
    crew: User, morning: datetime
) -> None:
    ticket = make_ticket(crew, [trousers()], promised_at=morning + timedelta(hours=8))
    set_crew_on(Station.BENCH, Decimal(0), business_day(morning), business_day(morning))
    assert ticket.number in [expected.ticket.number for expected in outlook_of(morning).at_risk()]
    [(way, _at)] = ways(morning, ticket.number)
    assert way == "One more at Bench"


def test_one_more_person_on_a_short_day_is_as_good_as_the_usual_crew(
    crew: User, morning: datetime
) -> None:
    """Two usually, one today, two with help: the same time as on a usual day."""
    StationCrew.objects.filter(station=Station.BENCH).update(people=2)
    for _ in range(12):
        make_ticket(crew, [trousers()], promised_at=morning + timedelta(hours=5))
    ticket = make_ticket(crew, [trousers()], promised_at=morning + timedelta(hours=6))
    usual = outlook_of(morning).tickets[ticket.number].at
    set_crew_on(Station.BENCH, Decimal(1), business_day(morning), business_day(morning))
    short = outlook_of(morning).tickets[ticket.number].at
    assert short > usual
    type(ticket).objects.filter(pk=ticket.pk).update(promised_at=short - timedelta(minutes=1))
    assert ("One more at Bench", usual) in ways(morning, ticket.number)


@pytest.mark.parametrize("far", ["9999-12-31", "2999-01-01"])
def test_a_day_with_a_digit_too_many_is_refused_and_stops_no_promise(
    desk: Client, far: str
) -> None:
    sent = {"station": "bench", "people": "0", "first": far}
    answer = desk.post("/plan/crew/", sent)
    assert answer.status_code == 422
    assert f"{far} is too far off." in answer.content.decode()
    assert not CrewDay.objects.exists()
    CrewDay.objects.create(station=Station.BENCH, day=date.fromisoformat(far), people=0)
    assert shop_capacity().spells == {}
    assert desk.get("/plan/").status_code == 200
    assert desk.get("/plan/crew/").status_code == 200


@pytest.mark.parametrize(("row", "status"), [("9" * 18, 302), ("9" * 5000, 422), ("x", 422)])
def test_a_row_that_is_none_is_no_error(desk: Client, row: str, status: int) -> None:
    assert desk.post("/plan/crew/", {"usual": row}).status_code == status


def test_the_last_day_that_can_be_told_is_taken(crew: User) -> None:
    last = business_day() + timedelta(days=crews.MOST_AHEAD)
    assert set_crew_on(Station.BENCH, Decimal(0), last, last) == 1
    assert len(shop_capacity().spells["bench"]) == 1
    with pytest.raises(Refused, match="too far off"):
        set_crew_on(Station.BENCH, Decimal(0), last, last + timedelta(days=1))


def test_where_nobody_matches_the_plan_says_so() -> None:
    piece = job("10-01", hand(Station.BENCH, 1, 10))
    played = play(Day(TEN_HOURS, {Station.ASSEMBLY: 0}), [piece])
    assert [(left.station, left.reason) for left in played.left] == [(Station.ASSEMBLY, NOBODY)]


def test_a_load_in_a_machine_out_of_use_is_shown_and_nothing_else_goes_in() -> None:
    inside = job("10-01", in_machine("10-01", Station.WASH, 1), inside=7)
    waits = job("11-02", in_machine("11-02", Station.WASH, 1))
    standing = StandingLoad(7, Station.WASH, "Old washer", "x", 50 * MINUTE, ("10-01",), -60, 600)
    day = Day(TEN_HOURS, machines={Station.WASH: (WASHER,)})
    runs = blocks_of(play(day, [inside, waits], [standing]), RUN)
    assert sorted((run.lane.machine, run.codes) for run in runs) == [
        ("Old washer", ("10-01",)),
        (WASHER.key, ("11-02",)),
    ]


@pytest.mark.parametrize(
    ("saturday", "opened"),
    [
        (date(2026, 3, 28), 7),  # the clock goes from 1 to 2 in London's night
        (date(2026, 10, 24), 8),
        (date(2026, 6, 6), 7),
    ],
)
def test_a_day_on_the_rail_is_24_hours_on_the_two_odd_nights_too(
    saturday: date, opened: int
) -> None:
    """London: summer time from the last Sunday of March to that of October (S.I. 2002/262)."""
    with timezone.override("Europe/London"):
        hours = ShopCalendar({day: (time(8), time(23)) for day in range(7)}, frozenset())
        night = datetime.combine(saturday - timedelta(days=1), time(22), tzinfo=UTC)
        ends = hours.add_minutes(hours.next_open(night + timedelta(hours=4)), 120)
        route = [Task("dry", 120, 1440)]
        begins = hours.next_open(night + timedelta(hours=4))
        outcome = forecast([route], begins, hours, Capacity(), {})
        assert outcome.at.astimezone(UTC) - ends.astimezone(UTC) == timedelta(days=1)
        sunday = saturday + timedelta(days=1)
        opening = hours.opening(sunday)
        assert opening is not None
        assert opening[0] == datetime.combine(sunday, time(opened), tzinfo=UTC)


def test_hours_round_the_jump_of_the_clock_are_counted_as_they_pass() -> None:
    """Open from midnight to four on the night in which the hour from one to two is missing."""
    with timezone.override("Europe/London"):
        nights = ShopCalendar({day: (time(0), time(4)) for day in range(7)}, frozenset())
        midnight = datetime(2026, 3, 29, tzinfo=UTC)
        assert nights.open_minutes(midnight, midnight + timedelta(hours=12)) == 180
        assert nights.add_minutes(midnight, 170) == midnight + timedelta(minutes=170)
        autumn = datetime(2026, 10, 24, 23, tzinfo=UTC)
        assert nights.open_minutes(autumn, autumn + timedelta(hours=12)) == 300
