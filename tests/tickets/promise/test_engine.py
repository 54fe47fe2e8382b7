"""The promise engine: exact sums, and known cases from outside."""

from __future__ import annotations

import random
from datetime import UTC, datetime
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.examples import examples
from tests.tickets.promise.flowshop import best_makespan, johnson, makespan
from tests.tickets.promise.shops import (
    ALWAYS,
    DAYTIME,
    NO_MARGIN,
    NOW,
    STATIONS,
    after,
    day_of,
    minutes_until,
)
from tickets.promise.capacity import Capacity, Spell
from tickets.promise.engine import forecast, forecast_promise
from tickets.promise.expected import Outlook
from tickets.promise.margin import Margin, MarginLine, Miss, learn, way_of
from tickets.promise.queue import OpenPiece, OpenStep, OpenTicket, Queue, Waiting
from tickets.promise.rush import made_late
from tickets.promise.tasks import Task

# Exact sums


def test_an_idle_shop_takes_the_work_the_waits_and_a_round_at_each_station() -> None:
    route = (Task("wash", 6, 55), Task("press", 5), Task("press", 3))
    outcome = forecast([route], NOW, DAYTIME, Capacity(), {}, round_minutes=30)
    assert minutes_until(outcome.at) == 30 + 6 + 55 + 30 + 5 + 3
    assert (outcome.path, outcome.hangs_on, outcome.full_until) == (74, "wash", None)


def test_a_piece_waits_for_the_queue_or_for_its_earlier_step_whichever_is_later() -> None:
    route = (Task("wash", 10), Task("press", 5))
    long = forecast([route], NOW, DAYTIME, Capacity(), {"press": 100})
    short = forecast([route], NOW, DAYTIME, Capacity(), {"press": 8})
    assert (minutes_until(long.at), minutes_until(short.at)) == (105, 15)
    assert (long.hangs_on, long.full_until) == ("press", after(100))


def test_people_share_the_crew_work_and_machines_theirs_and_the_slower_counts() -> None:
    capacity = Capacity(people={"wash": 2}, machines={"wash": 3})
    waiting = [Waiting(1, NOW, (Task("wash", 6, 55, machine=20),))] * 10
    assert Queue(waiting, capacity).ahead() == {"wash": 200 / 3}
    assert Queue(waiting, Capacity(people={"wash": 0.5})).ahead() == {"wash": 120}


def test_only_what_is_due_by_the_promise_stands_before_it() -> None:
    soon = Waiting(1, after(30), (Task("bench", 30),))
    late = Waiting(2, after(60 * 24 * 9), (Task("bench", 3000),))
    promised = forecast_promise(
        [(Task("bench", 20),)], NOW, DAYTIME, Queue([soon, late], Capacity()), NO_MARGIN
    )
    assert promised.at == after(60)  # 30 and 20 minutes, and up to the half hour
    assert promised.forecast.full_until == after(30)


@pytest.mark.parametrize(
    ("minutes", "promised"),
    [
        (20, "Friday 18:00"),
        (30, "Friday 18:00"),
        (31, "Monday 08:30"),
        (60, "Monday 08:30"),
        (61, "Monday 09:00"),
    ],
)
def test_a_promise_is_a_full_or_half_hour_when_the_shop_is_open_or_closes(
    minutes: int, promised: str
) -> None:
    evening = datetime(2026, 1, 9, 17, 30, tzinfo=UTC)  # Friday, half an hour before closing
    task = Task("bench", minutes)
    outcome = forecast_promise([(task,)], evening, DAYTIME, Queue([], Capacity()), NO_MARGIN)
    assert f"{outcome.at:%A %H:%M}" == promised


def test_a_piece_that_comes_off_the_rail_at_night_is_promised_for_the_opening() -> None:
    route = (Task("dry", 0, 60 * 17),)  # dry at two in the night
    outcome = forecast_promise([route], NOW, DAYTIME, Queue([], Capacity()), NO_MARGIN)
    assert f"{outcome.at:%A %H:%M}" == "Tuesday 08:00"


def test_a_new_ticket_takes_no_room_from_a_promise_that_has_none_left() -> None:
    """100 minutes due by then, and 20 more, fit with 15 % on top: or it comes after them."""
    work, task = 100 + 20, Task("bench", 20)

    def promised(due: float) -> datetime:
        queue = Queue([Waiting(1, after(due), (Task("bench", 100),))], Capacity())
        return forecast_promise([(task,)], NOW, ALWAYS, queue, NO_MARGIN).at

    assert promised(work * (1.15)) == after(30)
    assert promised(work * (1.15) - 1) == after(150)  # half past, after their promise


def test_work_elsewhere_takes_no_room_from_a_promise() -> None:
    queue = Queue([Waiting(1, after(110), (Task("press", 100),))], Capacity())
    outcome = forecast_promise([(Task("bench", 20),)], NOW, ALWAYS, queue, NO_MARGIN)
    assert outcome.at == after(30)


@pytest.mark.parametrize("count", [0, -1])
def test_capacity_that_cannot_work_is_refused(count: int) -> None:
    with pytest.raises(ValueError, match=f"people at 'press': {count} can't work"):
        Capacity(people={"press": count})


# Who is away


@pytest.mark.parametrize(
    ("spells", "ready", "behind"),
    [
        ([], "Monday 11:00", ""),
        ([day_of(0, 0.5)], "Monday 13:00", ""),
        ([day_of(0, 0)], "Tuesday 10:00", ""),  # Tuesday's first two hours
        ([day_of(0, 0), day_of(1, 0.5)], "Tuesday 12:00", ""),
        ([day_of(0, 2)], "Monday 11:00", "Monday 10:30"),  # more hands help the queue alone
        ([day_of(-1, 0), day_of(1, 0)], "Monday 11:00", ""),  # past, and after it is done
    ],
)
def test_a_day_with_another_crew_takes_the_work_at_its_own_pace(
    spells: list[Spell], ready: str, behind: str
) -> None:
    """Two hours of work from nine in the morning, in a shop that is open from 8 to 18: all of it
    the ticket's own, or half of it before it in the queue."""
    capacity = Capacity(spells={"bench": spells})
    alone = forecast([(Task("bench", 120),)], NOW, DAYTIME, capacity, {})
    second = forecast([(Task("bench", 60),)], NOW, DAYTIME, capacity, {"bench": 60})
    elsewhere = forecast([(Task("press", 120),)], NOW, DAYTIME, capacity, {})
    assert f"{alone.at:%A %H:%M}" == ready
    assert f"{second.at:%A %H:%M}" == (behind or ready)
    assert f"{elsewhere.at:%A %H:%M}" == "Monday 11:00"


def test_a_promise_that_has_no_room_on_a_short_day_is_not_endangered() -> None:
    """100 minutes due by noon, and 20 more, fit for a whole crew and not for half of it."""
    queue = [Waiting(1, after(180), (Task("bench", 100),))]

    def promised(*spells: Spell) -> datetime:
        capacity = Capacity(spells={"bench": spells})
        return forecast_promise(
            [(Task("bench", 20),)], NOW, DAYTIME, Queue(queue, capacity), NO_MARGIN
        ).at

    assert promised() == after(30)
    assert promised(day_of(0, 0.5)) == after(240)  # 120 minutes at half pace


@pytest.mark.parametrize(("begins", "ends", "share"), [(0, 1, -0.1), (1, 1, 1.0), (2, 1, 0.5)])
def test_a_spell_that_cannot_be_is_refused(begins: int, ends: int, share: float) -> None:
    with pytest.raises(ValueError, match="is no stretch of work"):
        Spell(after(begins), after(ends), share)


# Drying places

RAIL = Task("dry", 0, 720, place="rail")


@pytest.mark.parametrize(
    ("free", "before", "hung"),
    [
        ([0, 0], 0, 0),
        ([0, 0], 1, 0),
        ([0, 0], 2, 720),  # both places are taken for twelve hours
        ([0, 0], 5, 1440),
        ([0, 60], 2, 720),
        ([300, 60], 0, 60),
        ([-600, 60], 1, 60),  # free since long: it dries nobody twice at once
    ],
)
def test_a_piece_hangs_when_those_before_it_leave_a_place(
    free: list[int], before: int, hung: int
) -> None:
    capacity = Capacity(places={"rail": [after(minutes) for minutes in free]})
    queue = Queue([Waiting(n, NOW, (RAIL,)) for n in range(before)], capacity)
    assert queue.ahead().get("rail", 0) == before
    outcome = forecast([(RAIL,)], NOW, ALWAYS, capacity, queue.ahead())
    assert outcome.at == after(hung + 720)
    assert (outcome.full_until == after(hung)) == bool(outcome.full_until)


def test_the_tickets_own_pieces_share_the_places_and_a_shop_without_any_named_has_enough() -> None:
    three = forecast([(RAIL,)] * 3, NOW, ALWAYS, Capacity(places={"rail": [NOW, NOW]}), {})
    assert three.at == after(720 + 720)
    assert (three.hangs_on, three.full_until) == ("dry", after(720))
    assert forecast([(RAIL,)] * 3, NOW, ALWAYS, Capacity(), {}).at == after(720)
    flat = Capacity(places={"flat": [NOW]})
    assert forecast([(RAIL,)] * 3, NOW, ALWAYS, flat, {}).at == after(720)


# The margin


def test_a_shop_without_history_adds_the_rounds_and_a_fifth_of_the_way() -> None:
    assert Margin().minutes("a night", 500, rounds=90) == pytest.approx(90 + 118)
    learned = Margin({"a night": MarginLine(40.0, 0.5, usual=500.0)})
    assert learned.minutes("a night", 500, rounds=90) == 40 + 250
    assert learned.minutes("a night", 600, rounds=90) == 40 + 300 + 30  # 0.3 for each minute beyond
    assert learned.minutes("a day", 500, rounds=90) == Margin().minutes("a day", 500, rounds=90)


def test_the_margin_is_the_line_below_which_the_stated_share_of_past_misses_lies() -> None:
    """Misses of 60 + 0.4 x way, give or take 1 to 99 hundredths of a minute."""
    draw = random.Random(1)
    drawn = [(draw.randint(100, 2000), rest / 100) for rest in range(1, 100)]
    misses = [Miss("a night", 60 + 0.4 * path + rest, path) for path, rest in drawn]
    line = learn(misses).lines["a night"]
    # Rank ceil(100 x 0.963) is the 97th of 99.
    assert line.share == 0.4
    assert line.fixed == pytest.approx(60.97)
    assert learn(misses[:29]).lines == {}
    assert list(learn(misses[:30]).lines) == ["a night"]


@examples(60)
@given(
    st.lists(st.tuples(st.integers(-300, 3000), st.integers(0, 3000)), min_size=30, max_size=200),
    st.randoms(),
)
def test_the_line_keeps_the_stated_share_whatever_the_misses_and_their_order(
    drawn: list[tuple[int, int]], draw: random.Random
) -> None:
    misses = [Miss("a day", minutes, path) for minutes, path in drawn]
    line = learn(misses).lines["a day"]
    kept = sum(miss.minutes <= line.at(miss.path) + 1e-9 for miss in misses)
    assert kept >= 0.963 * len(misses)
    assert line.share >= 0
    assert line.at(0.0) >= 0
    draw.shuffle(misses)
    assert learn(misses).lines["a day"] == line


def test_tickets_that_came_early_never_make_the_margin_negative() -> None:
    learned = learn([Miss("a day", -50.0, 100.0)] * 60)
    assert [learned.minutes("a day", path) for path in (0.0, 50.0, 100.0)] == [0.0] * 3


def test_a_way_is_usual_when_four_of_five_were_no_longer_and_old_ones_are_forgotten() -> None:
    ways = [Miss("a day", 0.0, float(path)) for path in range(1, 102)]
    assert learn(ways).lines["a day"].usual == 81
    newest = [Miss("a day", 0.0, 7.0)] * 4000
    assert learn([*ways, *newest]) == learn(newest)


@pytest.mark.parametrize(("newest", "fixed"), [(3852, 60.0), (3853, 0.0)])
def test_the_newest_four_thousand_count(newest: int, fixed: float) -> None:
    """The line lies at rank ceil(4001 x 0.963), the 3853rd; the older ones are an hour late."""
    misses = [Miss("a day", 60.0, 0.0)] * 4000 + [Miss("a day", 0.0, 0.0)] * newest
    assert learn(misses).lines["a day"].fixed == fixed


def test_the_kind_of_way_is_its_longest_wait() -> None:
    waits = [0, 55, 720, 1440, 4320]
    ways = [way_of([(Task("bench", 1),), (Task("dry", 1, wait),)]) for wait in waits]
    assert ways == ["at once", "machines", "a night", "a day", "days"]


# Rush


def waits(number: int, due: float, station: str, minutes: float) -> OpenPiece:
    """A matched piece with one step left, so that its ticket is ready when that is done."""
    step = OpenStep(1, "step", Task(station, minutes))
    ticket = OpenTicket(number, False, after(due))
    return OpenPiece(
        number, f"{number}01", ticket, after(due), "assembled", station, 0, (step,), NOW
    )


def late_for(rush: list[Task], pieces: list[OpenPiece], capacity: Capacity) -> list[int]:
    return made_late(Outlook(NOW, pieces, DAYTIME, capacity, 0.0), [rush])


def test_a_rush_names_the_tickets_that_it_would_make_late() -> None:
    waiting = [
        waits(11, 100, "bench", 60),
        waits(12, 125, "bench", 60),
        waits(13, 500, "bench", 60),
        waits(14, 170, "press", 160),
    ]
    rush = [Task("bench", 20)]
    assert late_for(rush, waiting, Capacity()) == [12]
    assert late_for(rush, waiting, Capacity(people={"bench": 2})) == []


def test_a_ticket_that_is_late_already_is_not_blamed_on_the_rush() -> None:
    waiting = [waits(11, 30, "bench", 60)]
    assert late_for([Task("bench", 20)], waiting, Capacity()) == []


# Known cases from outside

JOHNSON = [(4, 5), (4, 1), (30, 4), (6, 30), (2, 3)]
"""Johnson 1954, "Optimal two- and three-stage production schedules", its five items; figures
from memory: the order 5, 1, 4, 3, 2 takes 47."""


def test_johnsons_example_takes_47() -> None:
    assert johnson(JOHNSON) == [4, 0, 3, 2, 1]
    assert makespan(JOHNSON, johnson(JOHNSON)) == best_makespan(JOHNSON) == 47


@examples(60)
@given(st.lists(st.tuples(*[st.integers(1, 60)] * 2), min_size=1, max_size=6))
def test_johnsons_order_is_the_best_of_all_orders(jobs: list[tuple[int, int]]) -> None:
    assert makespan(jobs, johnson(jobs)) == best_makespan(jobs)


@examples(60)
@given(st.integers(2, 4), st.data())
def test_a_ticket_is_never_expected_before_the_exact_optimum(
    stations: int, data: st.DataObject
) -> None:
    """Pieces of one ticket in a flow shop: the best order of all is a lower bound."""
    job = st.tuples(*[st.integers(1, 60)] * stations)
    jobs = data.draw(st.lists(job, min_size=1, max_size=6 if stations < 4 else 5))
    routes = [[Task(STATIONS[at], minutes) for at, minutes in enumerate(job)] for job in jobs]
    foreseen = minutes_until(forecast(routes, NOW, ALWAYS, Capacity(), {}).at)
    assert best_makespan(jobs) <= foreseen <= sum(map(sum, jobs))


@examples(60)
@given(st.lists(st.tuples(st.integers(1, 60), st.integers(1, 300)), min_size=1, max_size=6))
def test_on_one_station_the_forecast_is_exact_and_its_order_the_best(
    jobs: list[tuple[int, int]],
) -> None:
    """Jackson 1955 (from memory): work by due time has the least worst lateness on one machine."""
    ordered = sorted((due, number, minutes) for number, (minutes, due) in enumerate(jobs))
    foreseen, worst = 0.0, float("-inf")
    for place, (due, _, minutes) in enumerate(ordered):
        before = [Waiting(n, after(d), (Task("bench", m),)) for d, n, m in ordered[:place]]
        ahead = Queue(before, Capacity()).ahead()
        outcome = forecast([(Task("bench", minutes),)], NOW, ALWAYS, Capacity(), ahead)
        foreseen += minutes
        assert minutes_until(outcome.at) == foreseen
        worst = max(worst, foreseen - due)

    def lateness(order: tuple[tuple[int, int], ...]) -> float:
        ends = [sum(m for m, _ in order[: place + 1]) for place in range(len(order))]
        return max(end - due for end, (_, due) in zip(ends, order, strict=True))

    assert worst == min(lateness(order) for order in permutations(jobs))
