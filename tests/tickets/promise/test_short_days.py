"""Days with another crew beside a count minute by minute, and what more hands must never do."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.examples import examples
from tests.tickets.promise.shops import (
    DAYTIME,
    NO_MARGIN,
    NOW,
    STATIONS,
    after,
    minutes_until,
    places_drawn,
)
from tickets.promise.capacity import Capacity, Spell
from tickets.promise.engine import forecast, forecast_promise
from tickets.promise.queue import Queue, Waiting
from tickets.promise.tasks import Task
from tickets.shop.calendar import ShopCalendar

MONDAY = datetime(2026, 1, 5, tzinfo=UTC)
BREAK = ShopCalendar(
    {day: (time(8), time(18)) for day in range(5)},
    frozenset({date(2026, 1, 7)}),
    {0: (time(9), time(17, 59)), 1: (time(12), time(13))},
)


def minute(number: int) -> datetime:
    return MONDAY + timedelta(minutes=number)


def by_the_minute(
    spells: list[Spell], at: datetime, work: float, hours: ShopCalendar
) -> datetime | None:
    """Every open minute takes off the share of the crew that is there."""
    for _ in range(20 * 24 * 60):
        if any(begins <= at < ends for begins, ends in hours.spans(at.date())):
            share = next((s.share for s in spells if s.begins <= at < s.ends), 1.0)
            if share and work <= share + 1e-9:
                return at + timedelta(minutes=work / share)
            work -= share
        at += timedelta(minutes=1)
    return None


@examples(60)
@given(
    st.lists(st.integers(0, 100).map(lambda n: n * 50), min_size=6, max_size=6, unique=True),
    st.lists(st.sampled_from([0.0, 0.25, 0.5, 1.0, 1.5, 2.0]), min_size=3, max_size=3),
    st.integers(0, 3000).map(minute),
    st.integers(1, 3000).map(lambda quarters: quarters / 4),
    st.sampled_from([DAYTIME, BREAK]),
)
def test_work_is_done_when_a_count_of_minutes_says_so(
    edges: list[int], shares: list[float], at: datetime, work: float, hours: ShopCalendar
) -> None:
    edges = sorted(edges)
    pairs = zip(edges[::2], edges[1::2], shares, strict=True)
    spells = [Spell(minute(begins), minute(ends), share) for begins, ends, share in pairs]
    moment = Capacity(spells={"bench": spells}).done("bench", at, work, hours)
    counted = by_the_minute(spells, at, work, hours)
    assert counted is not None
    assert abs(moment - counted) < timedelta(seconds=1)


def there(people: float, count: float) -> Capacity:
    """Usually so many people at the bench, today that many."""
    share = count / people
    return Capacity({"bench": people}, spells={"bench": [Spell(MONDAY, minute(1440), share)]})


@pytest.mark.parametrize(
    ("people", "count", "expected"),
    [
        (2, 1, 20),  # one of two is there: she works at her own pace
        (4, 1, 20),
        (2, 0.5, 40),  # for half of the day
        (1, 3, 20),  # one pair of trousers is hemmed by one person
        (0.5, 1, 20),
        (0.5, 0.25, 80),
    ],
)
def test_one_piece_takes_one_person_as_long_as_ever(
    people: float, count: float, expected: float
) -> None:
    outcome = forecast([[Task("bench", 20)]], NOW, DAYTIME, there(people, count), {})
    assert minutes_until(outcome.at) == expected


def test_several_pieces_take_those_who_are_there_as_long_as_they_need() -> None:
    """Four times 20 minutes, for two people and for one of them."""
    routes = [[Task("bench", 20), Task("bench", 20)]] * 2
    assert minutes_until(forecast(routes, NOW, DAYTIME, Capacity({"bench": 2}), {}).at) == 40
    assert minutes_until(forecast(routes, NOW, DAYTIME, there(2, 1), {}).at) == 80
    assert minutes_until(forecast(routes, NOW, DAYTIME, there(2, 4), {}).at) == 40


def test_sums_of_fractions_cost_no_night() -> None:
    """Thirty times 0.1 minutes is a little more than 3 for a computer; at closing it is 3."""
    work = sum([0.1] * 30)
    assert work > 3 * (1 - 1e-12)
    spell = Spell(MONDAY, minute(1440), 0.1)
    at = minute(18 * 60) - timedelta(minutes=30)
    done = Capacity(spells={"bench": [spell]}).done("bench", at, work + 1e-9, DAYTIME)
    assert done == minute(18 * 60)


tasks = st.builds(
    Task,
    st.sampled_from(STATIONS),
    st.integers(0, 90),
    st.sampled_from([0, 55, 720]),
    place=st.sampled_from(["", "rail"]),
)
number = st.sampled_from([0.5, 1.0, 1.5, 2.0, 3.0])


@examples(100)
@given(
    st.lists(st.lists(tasks, min_size=1, max_size=4), min_size=1, max_size=3),
    st.lists(
        st.builds(
            Waiting,
            st.integers(1, 20),
            st.integers(-600, 9000).map(after),
            st.lists(tasks, max_size=4).map(tuple),
        ),
        max_size=20,
    ),
    st.fixed_dictionaries(dict.fromkeys(STATIONS, number)),
    st.fixed_dictionaries(dict.fromkeys(STATIONS, st.sampled_from([0.0, 0.5, 1.0, 4.0]))),
    st.dictionaries(
        st.sampled_from(STATIONS),
        st.lists(st.sampled_from([0.0, 0.5, 1.0, 2.0]), min_size=2, max_size=2),
    ),
    places_drawn,
)
def test_more_people_on_usual_days_never_make_a_promise_later_where_a_short_day_stays_as_told(
    routes: list[list[Task]],
    waiting: list[Waiting],
    people: dict[str, float],
    more: dict[str, float],
    counts_of: dict[str, list[float]],
    places: dict[str, list[datetime]],
) -> None:
    def promised(usual: dict[str, float]) -> datetime:
        spells = {
            station: [
                Spell(minute(1440 * day), minute(1440 * (day + 1)), count / usual[station])
                for day, count in enumerate(counts)
            ]
            for station, counts in counts_of.items()
        }
        capacity = Capacity(usual, spells=spells, places=places)
        return forecast_promise(routes, NOW, DAYTIME, Queue(waiting, capacity), NO_MARGIN, 30).at

    assert promised({s: people[s] + more[s] for s in STATIONS}) <= promised(people)
