"""The shop's days: breaks and cut-offs, and when a partner has a piece back."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.examples import examples
from tickets.errors import Refused
from tickets.promise.capacity import Capacity
from tickets.promise.engine import forecast_promise
from tickets.promise.margin import Margin
from tickets.promise.queue import Queue, Waiting
from tickets.promise.tasks import Task
from tickets.shop.calendar import ShopCalendar
from tickets.shop.rounds import Round

WEEK = {day: (time(8), time(18)) for day in range(5)}
LUNCH = dict.fromkeys(range(5), (time(12), time(13)))
CALENDAR = ShopCalendar(WEEK, frozenset({date(2026, 1, 7)}), LUNCH, {0: time(16), 4: time(12)})
"""Monday to Friday 8 to 18 with lunch; Wednesday 7 January 2026 is closed."""

DAYS = st.datetimes(datetime(2026, 1, 1), datetime(2026, 2, 20)).map(
    lambda moment: moment.replace(tzinfo=UTC)
)


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """A moment of January 2026, in which the 5th is a Monday. London keeps UTC then."""
    return datetime(2026, 1, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("start", "minutes", "end"),
    [
        (at(5, 11), 60, at(5, 12)),
        (at(5, 11), 61, at(5, 13, 1)),
        (at(5, 12, 30), 10, at(5, 13, 10)),
        (at(5, 8), 9 * 60, at(5, 18)),
        (at(5, 17), 120, at(6, 9)),
        (at(6, 17, 30), 60, at(8, 8, 30)),  # the 7th is closed
        (at(9, 17), 61, at(12, 8, 1)),  # over the weekend
    ],
)
def test_open_minutes_pass_by_the_break(start: datetime, minutes: int, end: datetime) -> None:
    assert CALENDAR.add_minutes(start, minutes) == end
    assert CALENDAR.open_minutes(start, end) == minutes


def test_nobody_works_in_the_break() -> None:
    assert CALENDAR.is_open(at(5, 11, 59))
    assert not CALENDAR.is_open(at(5, 12, 30))
    assert CALENDAR.next_open(at(5, 12, 30)) == at(5, 13)


@examples()
@given(start=DAYS, minutes=st.integers(0, 3000))
def test_minutes_added_are_the_minutes_counted(start: datetime, minutes: int) -> None:
    """Counted anew, minute by minute, from nothing but the opening hours."""
    end = CALENDAR.add_minutes(start, minutes)
    assert round(CALENDAR.open_minutes(start, end), 6) == minutes
    assert CALENDAR.is_open(end)


@examples()
@given(start=DAYS, minutes=st.integers(0, 2000), lunch=st.integers(1, 179))
def test_a_longer_break_never_brings_anything_forward(
    start: datetime, minutes: int, lunch: int
) -> None:
    until = (datetime(2026, 1, 1, 12) + timedelta(minutes=lunch)).time()
    short = ShopCalendar(WEEK, frozenset())
    longer = ShopCalendar(WEEK, frozenset(), dict.fromkeys(range(5), (time(12), until)))
    assert longer.add_minutes(start, minutes) >= short.add_minutes(start, minutes)


@pytest.mark.parametrize(
    ("taken_in", "counts_from"),
    [
        (at(5, 15, 59), at(5, 15, 59)),
        (at(5, 16), at(5, 16)),
        (at(5, 16, 1), at(6, 8)),
        (at(6, 17), at(6, 17)),  # Tuesday has no cut-off
        (at(9, 12, 1), at(12, 8)),  # Friday after noon: Monday
        (at(10, 13), at(10, 13)),  # a closed day has none; the hours do the rest
    ],
)
def test_after_the_cut_off_a_ticket_counts_from_the_next_working_day(
    taken_in: datetime, counts_from: datetime
) -> None:
    assert CALENDAR.counts_from(taken_in) == counts_from


def test_calendars_with_the_same_days_are_one_key_of_a_cache() -> None:
    same = ShopCalendar(dict(WEEK), CALENDAR.closed, dict(LUNCH), dict(CALENDAR.cut_offs))
    other = ShopCalendar(WEEK, CALENDAR.closed, {}, CALENDAR.cut_offs)
    assert (same == CALENDAR, hash(same) == hash(CALENDAR)) == (True, True)
    assert other != CALENDAR


# Partners


def rounds(
    collect: set[int] = frozenset(),  # type: ignore[assignment]
    back: set[int] = frozenset(),  # type: ignore[assignment]
    away: int = 2,
    name: str = "Partner",
) -> Round:
    return Round(
        name, ("dry_clean",), frozenset(collect), time(11), away, frozenset(back), time(15)
    )


@pytest.mark.parametrize(
    ("packed", "goes", "home"),
    [
        (at(5, 11), at(5, 11), at(8, 15)),  # Monday in time; back on the next Thursday
        (at(5, 11, 1), at(12, 11), at(15, 15)),  # a minute late: a week later
        (at(3, 9), at(5, 11), at(8, 15)),
    ],
)
def test_a_piece_goes_out_and_comes_back_on_the_partners_days(
    packed: datetime, goes: datetime, home: datetime
) -> None:
    monday_thursday = rounds({0}, {3})
    assert monday_thursday.goes(packed, CALENDAR.open_on) == goes
    assert monday_thursday.back(packed, CALENDAR.open_on) == home


def test_on_a_closed_day_nobody_hands_a_bag_over() -> None:
    wednesdays = rounds({2}, {2}, away=1)
    assert wednesdays.goes(at(6, 9), CALENDAR.open_on) == at(14, 11)  # the 7th is closed
    assert wednesdays.home(at(1, 11), CALENDAR.open_on) == at(14, 15)


def test_a_partner_who_is_quick_brings_it_back_the_same_day() -> None:
    assert rounds(away=0).back(at(5, 9), CALENDAR.open_on) == at(5, 15)


def test_a_partner_who_never_comes_is_named_with_a_cure() -> None:
    with pytest.raises(Refused) as no:
        rounds({6}).goes(at(5, 9), CALENDAR.open_on)
    assert (no.value.code, "Partner never comes" in no.value.says) == ("partner_never", True)
    assert no.value.cure


@examples()
@given(
    first=DAYS,
    later=st.timedeltas(timedelta(), timedelta(days=9)),
    collect=st.sets(st.integers(0, 4)),
    back=st.sets(st.integers(0, 4)),
    away=st.integers(0, 9),
)
def test_packing_later_is_never_back_earlier(
    first: datetime, later: timedelta, collect: set[int], back: set[int], away: int
) -> None:
    trip = rounds(collect, back, away)
    home = trip.back(first, CALENDAR.open_on)
    assert home <= trip.back(first + later, CALENDAR.open_on)
    assert home > first
    out = trip.goes(first, CALENDAR.open_on)
    assert (home.date() - out.date()).days >= away
    assert not collect or out.weekday() in collect
    assert not back or home.weekday() in back
    assert CALENDAR.open_on(out.date())
    assert CALENDAR.open_on(home.date())


@examples()
@given(packed=DAYS, days=st.lists(st.sets(st.integers(0, 4)), min_size=1, max_size=3))
def test_one_more_partner_never_brings_a_piece_back_later(
    packed: datetime, days: list[set[int]]
) -> None:
    every = tuple(rounds(moment, name=str(n)) for n, moment in enumerate(days))
    few = ShopCalendar(WEEK, frozenset(), rounds=every[:-1] or every)
    all_of_them = ShopCalendar(WEEK, frozenset(), rounds=every)
    earliest, before = all_of_them.back("dry_clean", packed), few.back("dry_clean", packed)
    assert earliest is not None
    assert before is not None
    assert earliest <= before
    assert all_of_them.back("leather", packed) is None


@examples(150)
@given(
    now=DAYS,
    crew=st.lists(st.integers(1, 400), min_size=2, max_size=2),
    queue=st.lists(st.integers(1, 300), max_size=12),
    days=st.lists(st.tuples(st.sets(st.integers(0, 4)), st.integers(0, 5)), min_size=1, max_size=2),
    shut=st.sets(st.dates(date(2026, 1, 1), date(2026, 2, 28)), max_size=8),
    lunch=st.booleans(),
    data=st.data(),
)
def test_no_capacity_added_makes_a_promise_by_way_of_a_partner_later(
    now: datetime,
    crew: list[int],
    queue: list[int],
    days: list[tuple[set[int], int]],
    shut: set[date],
    lunch: bool,
    data: st.DataObject,
) -> None:
    """One more partner, a day more open, no break: each alone and all together."""
    route = [Task("send_out", crew[0], 4320, partner="dry_clean"), Task("press", crew[1])]
    waiting = [Waiting(n, now, (Task("press", minutes),)) for n, minutes in enumerate(queue)]
    every = tuple(rounds(moment, away=away, name=str(n)) for n, (moment, away) in enumerate(days))
    breaks = LUNCH if lunch else {}
    open_more = frozenset(day for day in shut if data.draw(st.booleans()))

    def promised(
        closed: frozenset[date], pause: dict[int, Any], trips: tuple[Round, ...]
    ) -> datetime:
        calendar = ShopCalendar(WEEK, closed, pause, rounds=trips)
        return forecast_promise([route], now, calendar, Queue(waiting, Capacity()), Margin(), 30).at

    before = promised(frozenset(shut), breaks, every[:1])
    assert promised(frozenset(shut), breaks, every) <= before
    assert promised(open_more, breaks, every[:1]) <= before
    assert promised(frozenset(shut), {}, every[:1]) <= before
    assert promised(open_more, {}, every) <= before
