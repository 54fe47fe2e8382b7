"""Each figure of the day page beside a sum of plain SQL over the stored rows, in a shop that is
filled with a history. The SQL is written from the words under "How these are counted", not from
the queries of the room."""

from __future__ import annotations

import re
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client

from counter.owner.bar_charts import WeekPoint
from counter.owner.day import DayFigures, day_figures
from counter.owner.lists import figure_list
from counter.owner.now import NowFigures, now_figures
from counter.owner.promise_line import Standing, promises_of
from counter.owner.quarter import thirteen_weeks
from counter.owner.rate import Rate
from tests.building import known
from tests.counter.owner.test_as_approved import finished_work
from tests.counter.rows import DAY, act, at, before, piece_at, rack, ticket_of
from tests.markup import text
from tickets.choices import Station
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db
NOON = at(12)


def sql(query: str, *values: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(query, [stored(value) for value in values])
        return list(cursor.fetchall())


def stored(value: Any) -> Any:
    """A moment as the database keeps it."""
    if isinstance(value, datetime) and connection.vendor == "sqlite":
        return value.astimezone(UTC).replace(tzinfo=None).isoformat(" ")
    return value.isoformat() if type(value) is date and connection.vendor == "sqlite" else value


def number(query: str, *values: Any) -> float:
    [[count]] = sql(query, *values)
    return float(count or 0)


@pytest.fixture
def figures(oz: User) -> tuple[NowFigures, DayFigures]:
    """Late, at risk, on hold, racked in time and too late, paid by both means and given back."""
    finished_work(oz, at(8))
    late = ticket_of(oz, 2, opened=at(9, before(3)), promised=at(9, before(1)))
    tracking.hold(piece_at(late, 1).code, "which lining?", oz, DAY, act(oz, at(9)))
    ticket_of(oz, 3, stations=("press", "check"), minutes=70, opened=at(9), promised=at(14))
    ticket_of(oz, stations=("bench",), minutes=15, opened=at(9), promised=at(17))
    for ago, taken in ((2, 10.0), (9, 10.5), (40, 11.0)):
        ticket = ticket_of(oz, 2, opened=at(8, before(ago)), promised=at(10.2, before(ago)))
        rack(ticket, oz, at=at(taken, before(ago)))
    return now_figures(NOON), day_figures(DAY, NOON)


def test_the_promises_of_the_day(figures: tuple[NowFigures, DayFigures]) -> None:
    now, day = figures
    due = "SELECT count(*) FROM tickets_ticket WHERE promise_day = %s"
    kept = number(f"{due} AND ready_at <= promised_at", DAY)
    coming = number(f"{due} AND ready_at IS NULL AND promised_at >= %s", DAY, NOON)
    standings = Counter(
        promise.standing
        for promise in promises_of(day.due, NOON, [ticket.number for ticket in now.at_risk])
    )
    assert standings[Standing.KEPT] == day.on_time.rate.part == kept > 0
    assert standings[Standing.COMING] + standings[Standing.RISK] == day.on_time.to_come == coming
    assert standings[Standing.RISK] == 1
    assert standings[Standing.MISSED] == day.on_time.missed == number(due, DAY) - kept - coming
    assert day.on_time.decided == Rate(int(kept), int(number(due, DAY) - coming))


def test_late_and_on_hold(figures: tuple[NowFigures, DayFigures]) -> None:
    now, _day = figures
    open_late = """SELECT count(*) FROM tickets_ticket WHERE promised_at < %s
        AND ready_at IS NULL AND closed_at IS NULL"""
    assert len(now.late) == number(open_late, NOON) > 0
    assert len(now.holds) == number("SELECT count(*) FROM tickets_hold WHERE ended_at IS NULL") == 1
    held = "SELECT count(*) FROM tickets_piece WHERE state = 'held'"
    assert now.held == number(held)


def test_the_minutes_that_wait_at_each_station(figures: tuple[NowFigures, DayFigures]) -> None:
    """The next step of a piece where it is; none of them has two steps on end at one station."""
    now, _day = figures
    assert now.work is not None
    waiting = """SELECT sum(step.minutes) FROM tickets_routestep step
        JOIN tickets_piece piece ON piece.id = step.piece_id
        WHERE piece.station = step.station AND step.done_at IS NULL
        AND piece.station = %s AND piece.state = %s"""
    for work in now.work.stations:
        assert work.waiting == number(waiting, work.station.value, "waiting"), work
        assert work.held == number(waiting, work.station.value, "held"), work
        assert work.left == 6 * 60, work  # from 12:00 to 18:00, one person each
    assert sum(work.waiting for work in now.work.stations) > 200
    assert sum(work.held for work in now.work.stations) == 10


def test_the_list_behind_a_station_adds_up_to_its_bar(
    figures: tuple[NowFigures, DayFigures],
) -> None:
    now, _day = figures
    assert now.work is not None
    for work in now.work.stations:
        listing = known(figure_list(f"process-{work.station}", DAY, NOON))
        minutes = [re.match(r"(\d+) min, ", row.note) for row in listing.rows]
        assert sum(int(match[1]) for match in minutes if match) == work.waiting + work.held, work


def test_the_weeks(figures: tuple[NowFigures, DayFigures]) -> None:
    weeks = thirteen_weeks(DAY, NOON)
    assert [week.first for week in weeks] == [
        date(2026, 3, 9) - timedelta(weeks=ago) for ago in range(12, -1, -1)
    ]
    for week in weeks:
        last = min(week.first + timedelta(days=6), DAY)
        assert week == WeekPoint(week.first, *week_by_sql(week.first, last)), week
    assert [week.finished for week in weeks if week.finished] == [2, 1, 2, 3, 3]
    assert [week.on_time for week in weeks if week.on_time is not None] == [0, 100, 0, 100]


def week_by_sql(first: date, last: date) -> tuple[int, float | None]:
    racked = """SELECT count(*) FROM (SELECT DISTINCT piece_id, business_day
        FROM tickets_move WHERE kind = 'racked' AND from_state = 'assembled'
        AND business_day BETWEEN %s AND %s) days"""
    due = "SELECT count(*) FROM tickets_ticket WHERE promise_day BETWEEN %s AND %s"
    coming = number(f"{due} AND ready_at IS NULL AND promised_at >= %s", first, last, NOON)
    kept = number(f"{due} AND ready_at <= promised_at", first, last)
    every = number(due, first, last)
    share = 100 * kept / every if every and not coming else None
    return int(number(racked, first, last)), share


def test_the_takings_of_fourteen_days_by_means(figures: tuple[NowFigures, DayFigures]) -> None:
    _now, day = figures
    signed = """SELECT sum(CASE kind WHEN 'refund' THEN -amount ELSE amount END)
        FROM counter_payment WHERE business_day = %s AND means = %s"""
    assert [taken.day for taken in day.taken] == [before(ago) for ago in range(13, -1, -1)]
    for taken in day.taken:
        assert float(taken.cash) == number(signed, taken.day, "cash"), taken
        assert float(taken.card) == number(signed, taken.day, "card"), taken
    assert day.takings.total == day.taken[-1].cash + day.taken[-1].card == Decimal("5.00")


def test_what_is_ready_and_not_fetched_and_what_is_owed(
    figures: tuple[NowFigures, DayFigures],
) -> None:
    now, _day = figures
    owed = """SELECT ticket.ready_at, ticket.closed_at,
        (SELECT coalesce(sum(line.amount), 0) FROM counter_ticketline line
            WHERE line.ticket_id = ticket.id)
        - (SELECT coalesce(sum(CASE kind WHEN 'refund' THEN -amount ELSE amount END), 0)
            FROM counter_payment payment WHERE payment.ticket_id = ticket.id)
        FROM tickets_ticket ticket WHERE ticket.ready_at IS NOT NULL"""
    rows = [(ready, closed, max(float(rest), 0.0)) for ready, closed, rest in sql(owed)]
    here = [row for row in rows if row[1] is None]
    assert now.unclaimed_count == len(here) > 4
    assert float(now.unclaimed_owed) == sum(row[2] for row in here) > 0
    assert now.unpaid_count == sum(row[2] > 0 for row in rows)
    assert float(now.unpaid) == sum(row[2] for row in rows)
    for band in now.unclaimed:
        ages = [(DAY - day_of(ready)).days for ready, _closed, _rest in here]
        assert band.count == sum(band.holds(age) for age in ages), band


def day_of(ready: datetime | str) -> date:
    """SQLite gives the text it keeps; the shop's clock shows UTC in this winter."""
    return date.fromisoformat(str(ready)[:10])


def test_what_the_page_shows_is_what_was_counted(
    figures: tuple[NowFigures, DayFigures], office: Client
) -> None:
    _now, day = figures
    html = office.get(f"/owner/?day={DAY}").content
    said = text(html)
    assert f"£{day.takings.total}: cash £{day.taken[-1].cash}, card £0.00" in said
    assert f"Finished {day.finished} pieces racked" in said
    assert f"Booked work £{day.booked:.2f} {day.booked_count} tickets opened" in said
    row = re.search(r"Wash (\d+) (\d+) ", said[said.index("By station") :])
    wash = next(row for row in day.stations if row.station == Station.WASH)
    assert row is not None
    assert row.groups() == (str(wash.came), str(wash.left))
