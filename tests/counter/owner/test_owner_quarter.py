"""The owner's ninety days: each figure against a small case counted by hand."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from counter.money import services as payments
from counter.owner.day import day_figures
from counter.owner.quarter import quarter_figures
from counter.owner.rate import Rate
from tests.building import make_user
from tests.bulk import copies
from tests.counter.rows import DAY, HOUR, act, at, before, piece_at, rack, ticket_of, work
from tickets.choices import Station
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db
D = Decimal


def a_quarter(oz: User) -> None:
    """Three tickets: one a week ago and on time, one yesterday and late, one still at the bench."""
    last_week, yesterday = before(7), before(1)
    early = ticket_of(oz, 2, price="6.50", opened=at(9, last_week), promised=at(17, last_week))
    rack(early, oz, at=at(12, last_week))
    payments.take(early, "payment", "cash", D("13.00"), act(oz, at(13, last_week)), "a")
    late = ticket_of(oz, 1, price="8.00", opened=at(9, yesterday), promised=at(10, yesterday))
    work(piece_at(late, 1), oz, until="check", at=at(10, yesterday))
    tracking.send_back(
        piece_at(late, 1).code, Station.WASH, "not clean", act(oz, at(11, yesterday))
    )
    rack(late, oz, at=at(14, yesterday))
    payments.take(late, "deposit", "card", D("8.00"), act(oz, at(9, yesterday)), "b")
    payments.take(
        late, "refund", "cash", D("2.50"), act(oz, at(15, yesterday)), "c", reason="it was late"
    )
    ticket_of(oz, 1, opened=at(9), promised=at(18))


def test_the_weeks_run_from_monday_and_hold_every_day_once(oz: User) -> None:
    weeks = quarter_figures(DAY, at(12)).weeks
    days = [
        week.first + timedelta(days=ahead)
        for week in weeks
        for ahead in range((week.last - week.first).days + 1)
    ]
    assert days == [before(ago) for ago in range(89, -1, -1)]
    # ISO 8601: a week starts on Monday. The day is a Tuesday and its quarter begins on a Thursday.
    assert [week.first.isoweekday() for week in weeks] == [4] + [1] * 13
    assert (weeks[-1].last, weeks[-1].last.isoweekday()) == (DAY, 2)


def test_each_figure_stands_in_its_week(oz: User) -> None:
    a_quarter(oz)
    quarter = quarter_figures(DAY, at(16))
    *_older, last_week, this_week = quarter.weeks
    assert (last_week.finished, this_week.finished, quarter.whole.finished) == (2, 1, 3)
    assert (last_week.on_time, last_week.to_come, last_week.missed) == (Rate(1, 1), 0, 0)
    assert (this_week.on_time, this_week.to_come, this_week.missed) == (Rate(0, 2), 1, 1)
    assert (last_week.turnaround, this_week.turnaround) == (3 * HOUR, 5 * HOUR)
    assert (last_week.redo, this_week.redo) == (Rate(0, 2), Rate(1, 1))
    assert (last_week.takings, this_week.takings) == (D("13.00"), D("5.50"))
    assert (quarter.whole.redo, quarter.whole.takings) == (Rate(1, 3), D("18.50"))
    assert (quarter.whole.racked, quarter.whole.turnaround) == (2, 3 * HOUR)


def test_a_week_is_what_its_days_add_up_to(oz: User) -> None:
    a_quarter(oz)
    week = quarter_figures(DAY, at(16)).weeks[-1]
    days = [day_figures(day, at(16)) for day in (before(1), DAY)]
    assert week.finished == sum(day.finished for day in days)
    assert week.on_time.part == sum(day.on_time.rate.part for day in days)
    assert week.on_time.whole == sum(day.on_time.rate.whole for day in days)
    assert week.redo.part == sum(day.redo.part for day in days)
    assert week.redo.whole == sum(day.redo.whole for day in days)
    assert week.racked == sum(day.turnaround_count for day in days)
    assert week.takings == sum(day.takings.total for day in days)


def test_what_lies_before_the_ninety_days_is_left_out(oz: User) -> None:
    outside = before(90)
    old = ticket_of(oz, 1, price="6.50", opened=at(9, outside), promised=at(17, outside))
    rack(old, oz, at=at(12, outside))
    payments.take(old, "payment", "cash", D("6.50"), act(oz, at(13, outside)), "a")
    whole = quarter_figures(DAY, at(12)).whole
    assert (whole.finished, whole.on_time.whole, whole.racked) == (0, 0, 0)
    assert whole.takings == 0
    assert (whole.on_time.percent, whole.turnaround, whole.redo.percent) == (None, None, None)
    assert quarter_figures(before(1), at(12)).whole.finished == 1


def test_the_page_shows_each_week_and_all_and_the_same_when_it_is_asked_again(
    office: Client, oz: User
) -> None:
    a_quarter(oz)
    address = f"/owner/quarter/?day={DAY}"
    html = office.get(address).content.decode()
    table = html[html.index("<tbody>") : html.index("</table>")]
    assert table.count("<tr>") == 14 + 1
    assert "£18.50" in table
    assert "11 Dec 2025 to 10 Mar 2026" in html
    again = office.get(address).content.decode()
    assert again[again.index("<tbody>") : again.index("</table>")] == table
    assert "/owner/quarter/?day=" in office.get("/owner/").content.decode()


@pytest.mark.parametrize("pieces", [1, 25])
def test_the_page_costs_the_same_for_any_number_of_pieces(
    office: Client, oz: User, pieces: int, django_assert_num_queries: object
) -> None:
    copies(piece_at(rack(ticket_of(oz), oz), 1), pieces - 1, a_ticket=1)
    with django_assert_num_queries(QUERIES):  # type: ignore[operator]
        office.get("/owner/quarter/")


QUERIES = 8


def test_the_quarter_is_read_only(office: Client) -> None:
    assert office.post("/owner/quarter/").status_code == 405


def test_the_quarter_is_the_owners_alone(client: Client, oz: User) -> None:
    assert client.get("/owner/quarter/").status_code == 302
    for role in ("counter", "backroom"):
        client.force_login(make_user(role))
        assert client.get("/owner/quarter/").status_code == 403


def test_a_day_that_is_none_is_named(office: Client) -> None:
    html = office.get("/owner/quarter/?day=soon").content.decode()
    assert "soon is not a day." in html
