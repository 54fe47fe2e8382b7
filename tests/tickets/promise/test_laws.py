"""What a promise must never do, whatever the shop: laws over generated queues and shops."""

from __future__ import annotations

import random
from datetime import date, datetime, time, timedelta

from hypothesis import given
from hypothesis import strategies as st

from tests.examples import examples
from tests.tickets.promise.shops import (
    DAYTIME,
    NO_MARGIN,
    NOW,
    STATIONS,
    after,
    day_of,
    places_drawn,
)
from tickets.promise.capacity import Capacity, Spell
from tickets.promise.engine import forecast_promise
from tickets.promise.margin import Margin, MarginLine
from tickets.promise.queue import Queue, Waiting
from tickets.promise.tasks import Task
from tickets.shop.calendar import ShopCalendar

tasks = st.builds(
    Task,
    st.sampled_from(STATIONS),
    st.integers(0, 90),
    st.sampled_from([0, 0, 55, 720, 1440]),
    st.integers(0, 30),
    place=st.sampled_from(["", "", "rail", "flat"]),
)
routes_drawn = st.lists(st.lists(tasks, min_size=1, max_size=5), min_size=1, max_size=3)
queues = st.lists(
    st.builds(
        Waiting,
        st.integers(1, 20),
        st.integers(-600, 20_000).map(after),
        st.lists(tasks, max_size=4).map(tuple),
    ),
    max_size=40,
)
counts = st.dictionaries(st.sampled_from(STATIONS), st.sampled_from([0.5, 1, 1.5, 2, 3]))
extra = st.dictionaries(st.sampled_from(STATIONS), st.sampled_from([0, 0.5, 1, 4]))
hours = st.dictionaries(
    st.integers(0, 6), st.tuples(st.integers(7, 11), st.integers(13, 20)), min_size=1
)
closed = st.sets(
    st.integers(0, 20).map(lambda days: date(2026, 1, 5) + timedelta(days=days)), max_size=6
)
shares = st.lists(st.sampled_from([0.0, 0.5, 1.0, 2.0]), min_size=3, max_size=3)
spells_drawn = st.dictionaries(st.sampled_from(STATIONS), shares)
margins = st.sampled_from(
    [
        NO_MARGIN,
        Margin(),
        Margin({"a night": MarginLine(-90, 0.7, usual=300), "at once": MarginLine(90, 0)}),
    ]
)


def calendar_of(opening: dict[int, tuple[int, int]], shut: set[date]) -> ShopCalendar:
    return ShopCalendar({d: (time(o), time(c)) for d, (o, c) in opening.items()}, frozenset(shut))


@examples(120)
@given(
    routes_drawn,
    queues,
    counts,
    counts,
    extra,
    extra,
    hours,
    closed,
    spells_drawn,
    places_drawn,
    margins,
    st.data(),
)
def test_adding_capacity_never_makes_a_promise_later(
    routes: list[list[Task]],
    waiting: list[Waiting],
    people: dict[str, float],
    machines: dict[str, float],
    more_people: dict[str, float],
    more_machines: dict[str, float],
    opening: dict[int, tuple[int, int]],
    shut: set[date],
    first_days: dict[str, list[float]],
    places: dict[str, list[datetime]],
    margin: Margin,
    data: st.DataObject,
) -> None:
    """More people, more machines, longer hours, a day more open, more of the crew there on one of
    the first days, more drying places: each, and all together."""
    grown_people = {s: people.get(s, 1) + more_people.get(s, 0) for s in {*people, *more_people}}
    grown_machines = {s: count + more_machines.get(s, 0) for s, count in machines.items()}
    longer = {
        day: (opens - data.draw(st.integers(0, 3)), closes + data.draw(st.integers(0, 3)))
        for day, (opens, closes) in opening.items()
    }
    longer |= {day: times for day, times in data.draw(hours).items() if day not in longer}
    less_shut = {day for day in shut if data.draw(st.booleans())}

    more_there = {
        station: [share + data.draw(st.sampled_from([0.0, 0.5])) for share in days]
        for station, days in first_days.items()
    }

    def spells(days_of: dict[str, list[float]]) -> dict[str, list[Spell]]:
        return {
            s: [day_of(n, share) for n, share in enumerate(shares)] for s, shares in days_of.items()
        }

    def promised(capacity: Capacity, calendar: ShopCalendar) -> datetime:
        return forecast_promise(routes, NOW, calendar, Queue(waiting, capacity), margin, 30).at

    few, many = spells(first_days), spells(more_there)
    roomy = {kind: [*free, after(data.draw(st.integers(0, 3000)))] for kind, free in places.items()}
    small, short = Capacity(people, machines, few, places), calendar_of(opening, shut)
    large = Capacity(grown_people, grown_machines, few, places)
    long = calendar_of(longer, less_shut)
    before = promised(small, short)
    assert promised(large, short) <= before
    assert promised(small, long) <= before
    assert promised(Capacity(people, machines, many, places), short) <= before
    assert promised(Capacity(people, machines, few, roomy), short) <= before
    assert promised(Capacity(people, machines, few), short) <= before
    assert promised(Capacity(grown_people, grown_machines, many, roomy), long) <= before


@examples(60)
@given(routes_drawn, queues, counts, st.randoms())
def test_the_same_facts_in_any_order_give_the_same_promise(
    routes: list[list[Task]], waiting: list[Waiting], people: dict[str, float], draw: random.Random
) -> None:
    capacity = Capacity(people)
    first = forecast_promise(routes, NOW, DAYTIME, Queue(waiting, capacity), Margin(), 30)
    draw.shuffle(waiting)
    draw.shuffle(routes)
    second = forecast_promise(routes, NOW, DAYTIME, Queue(waiting, capacity), Margin(), 30)
    assert (first.at, first.forecast.at) == (second.at, second.forecast.at)


@examples(60)
@given(routes_drawn, queues, queues, places_drawn)
def test_more_work_in_the_queue_never_makes_a_promise_earlier(
    routes: list[list[Task]],
    waiting: list[Waiting],
    more: list[Waiting],
    places: dict[str, list[datetime]],
) -> None:
    shop = Capacity(places=places)
    few = forecast_promise(routes, NOW, DAYTIME, Queue(waiting, shop), Margin(), 30)
    many = forecast_promise(routes, NOW, DAYTIME, Queue([*waiting, *more], shop), Margin(), 30)
    assert few.at <= many.at
