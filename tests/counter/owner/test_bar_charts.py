"""Charts as numbers: percent across, pixels upwards."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from counter.owner.bar_charts import (
    DayTaken,
    StationWork,
    WeekPoint,
    round_sum,
    row_lengths,
    takings_chart,
    week_chart,
    work_bars,
)
from tickets.choices import Station

MONDAY = date(2026, 3, 9)
D = Decimal


def weeks(*figures: tuple[int, float | None]) -> list[WeekPoint]:
    first = MONDAY - timedelta(weeks=len(figures) - 1)
    return [
        WeekPoint(first + timedelta(weeks=place), finished, on_time)
        for place, (finished, on_time) in enumerate(figures)
    ]


def test_a_week_is_as_high_as_what_was_finished_in_it() -> None:
    chart = week_chart(weeks((20, None), (40, None), (10, None)))
    assert [week.bar.height for week in chart.bars] == [52.5, 105, 26.25]
    assert {week.bar.y + week.bar.height for week in chart.bars} == {chart.base}
    assert [week.counted for week in chart.bars] == [False, True, True]  # the highest, the last
    assert [week.bar.middle for week in chart.bars] == pytest.approx([14, 42, 70])


def test_the_line_on_time_breaks_where_nothing_is_decided() -> None:
    chart = week_chart(weeks((9, 100.0), (9, 95.0), (9, None), (9, 90.0), (9, 97.0), (9, None)))
    assert chart.lines == ["7.00,12.0 21.00,38.0", "49.00,64.0 63.00,27.6"]
    assert chart.last == pytest.approx((63, chart.goal_y, 97))


def test_a_bad_week_widens_the_scale_and_keeps_the_line_above_the_bars() -> None:
    chart = week_chart(weeks((9, 43.0), (9, 100.0)))
    heights = [float(point.split(",")[1]) for point in chart.lines[0].split()]
    assert heights == [pytest.approx(12 + 57 / 60 * 52, abs=0.05), 12]
    assert max(heights) < min(week.bar.y for week in chart.bars) - 15


def test_weeks_without_a_piece_are_no_chart() -> None:
    assert week_chart(weeks((0, None), (0, None))).is_empty
    assert not week_chart(weeks((0, None), (1, None))).is_empty


def test_cash_stands_on_card_and_both_on_one_scale() -> None:
    chart = takings_chart(
        [DayTaken(MONDAY, D(30), D(90), True), DayTaken(MONDAY, D(60), D(0), True)]
    )
    high, low = chart.bars
    assert high.card.height == 39
    assert high.card.y + high.card.height == chart.base
    assert high.cash.y == chart.base - 156  # the highest day fills the drawing
    assert high.cash.y + high.cash.height + 1.5 == high.card.y  # a thin gap between them
    assert (low.card.height, low.cash.height) == (78, 0)
    assert chart.axis == (D(100), chart.base - 130)


def test_more_given_back_than_taken_is_no_bar_and_no_sum_is_no_axis() -> None:
    chart = takings_chart([DayTaken(MONDAY, D(0), D(-5), True)])
    assert (chart.bars[0].cash.height, chart.axis) == (0, None)


@pytest.mark.parametrize(
    ("highest", "round_one"), [("0.50", 0), ("1", 1), ("4.99", 2), ("218.40", 200), ("5000", 5000)]
)
def test_the_axis_stands_at_a_round_sum(highest: str, round_one: int) -> None:
    assert round_sum(D(highest)) == round_one


def test_work_is_cut_where_the_crew_ends_and_all_bars_have_one_scale() -> None:
    full, held = work_bars(
        [StationWork(Station.WASH, 250, 0, 200), StationWork(Station.BENCH, 60, 40, 120)]
    )
    assert (full.room, full.ink, full.over, full.mid) == (80, 80, 20, 0)
    assert (held.room, held.ink, held.over, held.mid) == (48, 24, 0, 16)
    assert (held.mid_from, held.total) == (24, 100)


def test_a_shop_without_work_and_hours_has_bars_of_no_length() -> None:
    [bar] = work_bars([StationWork(Station.WASH, 0, 0, 0)])
    assert (bar.room, bar.ink, bar.over, bar.mid) == (0, 0, 0, 0)


def test_rows_are_as_long_as_their_share_of_the_longest() -> None:
    assert row_lengths([5, 10, 0]) == [50, 100, 0]
    assert row_lengths([0, 0]) == [0, 0]


def test_the_longest_bar_counts_what_is_on_hold_too() -> None:
    """60 minutes wait and 40 are on hold: the longest; 50 of them can be done."""
    (bar,) = work_bars([StationWork(Station.PRESS, waiting=60, held=40, left=50)])
    assert (bar.room, bar.ink, bar.over, bar.mid) == (50, 50, 10, 40)
