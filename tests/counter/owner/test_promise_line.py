"""The promises of a day on a line, and downwards."""

from __future__ import annotations

import pytest
from django.utils import translation

from counter.owner.promise_line import DayPromise, Standing, promise_line, rows_down
from counter.owner.wording.findings import promises_found
from tests.counter.rows import HOUR, at, before

OPENING = at(8), at(18)


def promise(
    hour: float,
    standing: Standing = Standing.COMING,
    name: str = "Ada Brook",
    number: int = 1000071,
) -> DayPromise:
    return DayPromise(number, name, at(hour), standing)


def late_before(count: int) -> list[DayPromise]:
    """Late ones of the day before, with numbers of their own."""
    return [
        DayPromise(1000072 + place, "Cy Dunn", at(15, before(1)), Standing.MISSED)
        for place in range(count)
    ]


def test_an_hour_lies_where_it_is_between_opening_and_closing() -> None:
    line = promise_line([promise(13)], OPENING, at(10.5))
    assert line is not None
    assert [hour for _x, hour in line.hours] == list(range(8, 19))
    first, last = line.hours[0][0], line.hours[-1][0]
    assert (first, last) == (line.first, 97)
    assert line.marks[0].x == pytest.approx((first + last) / 2)
    assert line.now == pytest.approx(first + (last - first) / 4)


def test_dots_that_are_close_stand_on_each_other_the_gravest_below() -> None:
    line = promise_line(
        [promise(15), promise(15, Standing.RISK), promise(15.25, Standing.KEPT), promise(16)],
        OPENING,
        at(9),
    )
    assert line is not None
    low, middle, high, apart = line.marks
    assert low.x == middle.x == high.x < apart.x
    assert [mark.standing for mark in line.marks] == ["risk", "come", "kept", "come"]
    assert (low.y, low.y - middle.y, middle.y - high.y, apart.y) == (line.base - 20, 28, 28, low.y)
    assert line.height == 72 + 3 * 28 + 36


def test_who_is_in_danger_is_named_and_what_does_not_fit_is_counted() -> None:
    line = promise_line(
        [promise(10, Standing.RISK, "Bo Finch"), *[promise(17)] * 7], OPENING, at(9)
    )
    assert line is not None
    assert [(name.words, name.standing) for name in line.names] == [
        ("Finch B.", "risk"),
        ("+3", "come"),
    ]
    assert len(line.marks) == 1 + 4


@pytest.mark.parametrize(
    ("missed", "risky", "well", "says"),
    [
        (1, 0, 2, "Brook A."),
        (2, 0, 0, "2 missed"),
        (2, 1, 1, "2 missed"),
        (1, 2, 0, "Brook A."),
        (0, 3, 0, "3 at risk"),
        (6, 0, 0, "6 missed"),
        (3, 0, 4, "3 of 7 missed"),
        (0, 2, 3, "2 of 5 at risk"),
    ],
)
def test_words_over_a_stack_say_how_many_of_it_are_missed(
    missed: int, risky: int, well: int, says: str
) -> None:
    """So that the names and numbers over the crosses add up to what the day says."""
    stack = [promise(12, Standing.MISSED)] * missed + [promise(12, Standing.RISK)] * risky
    with translation.override("en"):
        line = promise_line([*stack, *[promise(12)] * well], OPENING, at(13))
    assert line is not None
    assert [name.words for name in line.names] == [says]


def test_no_name_is_cut_a_long_one_gives_way_to_the_ticket() -> None:
    long = promise(10, Standing.MISSED, "Agnes Featherstonhaugh-Montgomery")
    line = promise_line([long, promise(15, Standing.RISK)], OPENING, at(12))
    assert line is not None
    assert [name.words for name in line.names] == ["0071", "Brook A."]


def test_where_names_would_lie_over_each_other_all_are_numbers_and_none_is_lost() -> None:
    missed = [
        promise(8 + half / 2, Standing.MISSED, "Nora Winterbottom", 1000071 + half)
        for half in range(18)
    ]
    line = promise_line(missed, OPENING, at(18))
    assert line is not None
    assert [name.words for name in line.names] == [f"00{71 + half}" for half in range(18)]


def test_names_that_would_lie_over_each_other_stand_a_line_apart() -> None:
    line = promise_line([promise(hour, Standing.RISK) for hour in (10, 10.5, 11)], OPENING, at(9))
    assert line is not None
    assert [name.y for name in line.names] == [
        line.base - 38,
        line.base - 58,
        line.base - 38,
    ]


def test_a_promise_out_of_hours_widens_the_line() -> None:
    line = promise_line([promise(19.5)], OPENING, at(20.5))
    assert line is not None
    assert (line.hours[-1][1], line.now) == (20, None)


def test_a_closed_day_has_a_line_only_where_something_was_promised() -> None:
    assert promise_line([], None, at(9)) is None
    line = promise_line([promise(9)], None, at(9))
    assert line is not None
    assert [hour for _x, hour in line.hours] == [9, 10]


@pytest.mark.parametrize(
    ("late", "words"),
    [(1, ["0072"]), (3, ["0072", "0073", "0074"]), (4, ["0072", "0073", "+2"]),
     (9, ["0072", "0073", "+7"])],
)  # fmt: skip
def test_what_is_late_from_days_before_stands_before_the_line_by_its_number(
    late: int, words: list[str]
) -> None:
    """Crosses with a number of a ticket and the rest as a count: together what is late."""
    line = promise_line([], OPENING, at(9), late_before(late))
    assert line is not None
    assert [name.words for name in line.names] == words
    assert len(line.marks) == sum(not word.startswith("+") for word in words)
    assert {mark.standing for mark in line.marks} == {Standing.MISSED}
    assert max(name.x for name in line.names) < line.first == line.hours[0][0]
    assert line.past == late


def test_downwards_the_present_stands_among_the_promises() -> None:
    late = DayPromise(1000072, "Cy Dunn", at(15, before(4)), Standing.MISSED)
    with translation.override("en"):
        rows = rows_down([promise(9, Standing.KEPT), promise(15)], [late], at(10), is_today=True)
    assert [(row.when, row.standing) for row in rows] == [
        ("Fri 6", "missed"),
        ("09:00", "kept"),
        ("10:00", "now"),
        ("15:00", "come"),
    ]


def test_of_many_promises_the_kept_are_one_row_and_the_last_are_counted() -> None:
    promises = [promise(9, Standing.KEPT)] * 5 + [promise(15)] * 14
    rows = rows_down(promises, [], at(10), is_today=False)
    assert [row.name for row in rows] == ["5 kept", *["Ada Brook"] * 10, "and 4 more"]


def test_many_missed_before_now_leave_the_rest_to_its_count() -> None:
    missed = [promise(9, Standing.MISSED)] * 12
    rows = rows_down([*missed, promise(15)], [], at(9) + HOUR, is_today=False)
    assert [row.name for row in rows] == [*["Ada Brook"] * 10, "and 3 more"]


@pytest.mark.parametrize(
    ("counts", "says"),
    [
        ((1, 6, 2, 0), "1 kept, 6 to come, 2 of them at risk"),
        ((3, 1, 0, 2), "3 kept, 2 missed, 1 to come"),
        ((0, 3, 0, 0), "3 to come"),
        ((0, 3, 3, 0), "3 to come, all at risk"),
        ((6, 0, 0, 1), "6 of 7 kept, 86 %"),  # 6 / 7 = 85.7 %, once nothing is to come
        ((0, 0, 0, 0), "None falls due"),
    ],
)
def test_a_share_is_said_only_when_nothing_is_to_come(
    counts: tuple[int, int, int, int], says: str
) -> None:
    with translation.override("en-gb"):
        assert promises_found(*counts) == says
