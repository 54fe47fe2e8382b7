"""The owner's figures, each against a small case counted by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from counter import payments, pickup
from counter.dashboards import Rate, day_figures, now_figures
from counter.dashboards.chart import bar_chart
from counter.dashboards.day import LittlesLaw, SentBack
from counter.dashboards.lists import figure_list
from counter.dashboards.rate import percentile
from tests.building import make_customer, make_shop, make_user
from tests.counter.rows import act, piece_at, rack, ticket_of, work
from tickets import tracking
from tickets.choices import Station
from tickets.models import ClosedDay, OpeningHours, StationCrew, Ticket

pytestmark = pytest.mark.django_db

DAY = date(2026, 3, 10)
"""A Tuesday in winter time, when the shop's clock in London shows UTC. Open from 8 to 18."""

D = Decimal
HOUR = timedelta(hours=1)


def at(hour: float, day: date = DAY) -> datetime:
    return datetime.combine(day, time(), tzinfo=UTC) + hour * HOUR


def before(days: int) -> date:
    return DAY - timedelta(days=days)


@pytest.fixture
def oz() -> User:
    make_shop()
    return make_user("owner", "oz")


def numbers(tickets: object) -> list[int]:
    return [ticket.number for ticket in tickets]  # type: ignore[attr-defined]


# Now


def test_late_tickets_are_the_unready_ones_past_their_promise_oldest_first(oz: User) -> None:
    newer = ticket_of(oz, opened=at(8, before(2)), promised=at(9))
    older = ticket_of(oz, opened=at(8, before(2)), promised=at(8))
    ticket_of(oz, opened=at(8), promised=at(16))
    racked = ticket_of(oz, opened=at(8, before(2)), promised=at(8))
    rack(racked, oz, at=at(9))
    held = ticket_of(oz, opened=at(8, before(2)), promised=at(9, before(1)))
    tracking.hold(piece_at(held, 1).code, "zip on order", oz, DAY, act(oz, at(9)))
    found = now_figures(at(10))
    assert numbers(found.late) == numbers([held, older, newer])


def test_a_ticket_is_at_risk_when_queue_and_work_pass_the_promise(oz: User) -> None:
    """Three stations and the assembly, 10 minutes and a round of 30 each: 2 h 40."""
    dry = ("intake", "bench", "check")
    safe = ticket_of(oz, stations=dry, opened=at(8), promised=at(12.7))
    assert numbers(now_figures(at(10)).at_risk) == []
    tight = ticket_of(oz, stations=dry, opened=at(8), promised=at(12.6))
    assert numbers(now_figures(at(10)).at_risk) == numbers([tight, safe])  # it stands before it
    assert numbers(now_figures(at(12.65)).late) == numbers([tight])


def test_machine_time_counts_into_the_risk(oz: User) -> None:
    """A wash of 10 crew minutes runs 55 in the machine (tickets/minutes.csv): 2 h 15 in all."""
    ticket = ticket_of(oz, stations=("wash",), opened=at(8), promised=at(11))
    assert numbers(now_figures(at(8.7)).at_risk) == []
    assert numbers(now_figures(at(8.8)).at_risk) == numbers([ticket])


def test_pieces_in_process_are_those_not_racked_collected_or_gone_back(oz: User) -> None:
    ticket = ticket_of(oz, 5, opened=at(8), promised=at(17))
    rack(ticket, oz, only=[1], at=at(9))
    work(piece_at(ticket, 2), oz, until="wash", at=at(9))
    tracking.hold(piece_at(ticket, 3).code, "ask", oz, DAY, act(oz, at(9)))
    tracking.return_undone(piece_at(ticket, 4).code, "too weak", act(oz, at(9)))
    found = now_figures(at(10))
    assert found.in_process == {Station.INTAKE: 2, Station.WASH: 1}
    assert (found.in_process_total, found.held) == (3, 1)


def test_holds_come_with_owner_and_day_and_those_due_are_told_apart(oz: User) -> None:
    ticket = ticket_of(oz, 2, opened=at(8))
    later = DAY + timedelta(days=1)
    tracking.hold(piece_at(ticket, 1).code, "later", oz, later, act(oz, at(9)))
    tracking.hold(piece_at(ticket, 2).code, "today", oz, DAY, act(oz, at(9)))
    found = now_figures(at(10))
    assert [(hold.reason, hold.owner) for hold in found.holds] == [("today", oz), ("later", oz)]
    assert [hold.reason for hold in found.holds_due] == ["today"]


def test_unclaimed_tickets_fall_into_bands_by_days_since_ready(oz: User) -> None:
    for days in (0, 7, 8, 30, 31, 90, 91, 400):
        opened = at(9, before(days))
        rack(ticket_of(oz, opened=opened, price="1.00"), oz, at=opened + HOUR)
    found = now_figures(at(12)).unclaimed
    assert [(band.key, band.count, band.owed) for band in found] == [
        ("0-7", 2, D("2.00")),
        ("8-30", 2, D("2.00")),
        ("31-90", 2, D("2.00")),
        ("91-up", 2, D("2.00")),
    ]


def test_collected_and_unready_tickets_are_not_unclaimed(oz: User) -> None:
    ticket = rack(ticket_of(oz, opened=at(8)), oz, at=at(9))
    tracking.hand_over(piece_at(ticket, 1).code, ticket.number, act(oz, at(10)))
    ticket_of(oz, opened=at(8))
    assert sum(band.count for band in now_figures(at(12)).unclaimed) == 0


def test_work_done_and_not_paid_counts_racked_and_collected_tickets(oz: User) -> None:
    racked = rack(ticket_of(oz, opened=at(8), price="10.10"), oz, at=at(9))
    payments.take(racked, "payment", "cash", D("0.10"), act(oz, at(9)), "a")
    gone = rack(ticket_of(oz, opened=at(8), price="0.20"), oz, at=at(9))
    pickup.scan(gone.number, piece_at(gone, 1).code, act(oz, at(10)))
    pickup.hand_over(gone.pickups.get().pk, "Ada", "slip", act(oz, at(10)), owed_reason="account")
    settled = rack(ticket_of(oz, opened=at(8), price="0.30"), oz, at=at(9))
    for key, amount in (("b", "0.10"), ("c", "0.20")):
        payments.take(settled, "payment", "cash", D(amount), act(oz, at(9)), key)
    ticket_of(oz, opened=at(8), price="99.00")
    found = now_figures(at(12))
    assert (found.unpaid_count, found.unpaid) == (2, D("10.20"))


def test_tomorrows_jam_is_the_queue_todays_crew_cannot_do(oz: User) -> None:
    """One person at the wash, 8 hours left today: 480 of 1080 minutes; 600 remain for 600."""
    StationCrew.objects.create(station=Station.WASH, people=1)
    ticket_of(oz, 12, stations=("wash",), minutes=90, opened=at(9))
    found = now_figures(at(10))
    [load] = found.loads
    assert (load.station, load.queued, load.left_today, load.tomorrow) == (
        Station.WASH,
        1080,
        480,
        600,
    )
    assert (load.carried, load.share, load.jammed) == (600, 1.0, True)
    assert found.jammed == [load]


def test_two_people_halve_a_jam_and_ninety_percent_is_none(oz: User) -> None:
    StationCrew.objects.create(station=Station.WASH, people=2)
    ticket_of(oz, 12, stations=("wash",), minutes=170, opened=at(9))
    [load] = now_figures(at(10)).loads  # 2040 queued, 960 today, 1080 of 1200 tomorrow
    assert (load.carried, load.share, load.jammed) == (1080, 0.9, False)


def test_a_closed_day_is_skipped_for_tomorrow(oz: User) -> None:
    ClosedDay.objects.create(day=DAY + timedelta(days=1))
    ticket_of(oz, opened=at(9))
    assert now_figures(at(10)).next_open == DAY + timedelta(days=2)


def test_a_shop_without_hours_still_has_a_page_of_figures(oz: User) -> None:
    OpeningHours.objects.all().delete()
    ticket_of(oz, opened=at(9))
    found = now_figures(at(10))
    assert (found.next_open, found.in_process_total) == (None, 1)
    assert day_figures(DAY, at(10)).stations[0].per_hour is None


# The day


def test_pieces_in_and_out_of_each_station(oz: User) -> None:
    """Two pieces through intake, wash and check; one comes back to the wash and goes on again."""
    ticket = ticket_of(oz, 2, opened=at(9))
    rack(ticket, oz, only=[1], at=at(10))
    piece = piece_at(ticket, 2)
    work(piece, oz, until="assembly", at=at(10))
    tracking.send_back(piece.code, Station.WASH, "not clean", act(oz, at(11)))
    work(piece, oz, until="check", at=at(12))
    pickup.scan(ticket.number, piece_at(ticket, 1).code, act(oz, at(13)))
    pickup.hand_over(
        ticket.pickups.get().pk, "Ada", "slip", act(oz, at(13)), owed_reason="x", part_of=2
    )
    found = {row.station.value: (row.came, row.left) for row in day_figures(DAY, at(18)).stations}
    assert found == {
        "intake": (2, 2),
        "bench": (0, 0),
        "spotting": (0, 0),
        "wash": (3, 3),
        "dry": (0, 0),
        "press": (0, 0),
        "check": (3, 2),
        "send_out": (0, 0),
        "assembly": (2, 2),
        "rack": (1, 1),
        "pickup": (1, 1),
    }


def test_pieces_an_hour_are_those_leaving_by_hours_open_so_far(oz: User) -> None:
    rack(ticket_of(oz, 6, opened=at(8)), oz, at=at(9))
    wash = day_figures(DAY, at(11)).stations[3]
    assert (wash.station, wash.left, wash.hours, wash.per_hour) == (Station.WASH, 6, 3, 2)


def test_the_on_time_rate_counts_all_tickets_due_that_day(oz: User) -> None:
    kept = ticket_of(oz, opened=at(8), promised=at(10))
    rack(kept, oz, at=at(10))
    missed = ticket_of(oz, opened=at(8), promised=at(10))
    rack(missed, oz, at=at(10.01))
    ticket_of(oz, opened=at(8), promised=at(11))  # not racked, past
    ticket_of(oz, opened=at(8), promised=at(17))  # not racked, to come
    early = ticket_of(oz, opened=at(8, before(3)), promised=at(17))
    rack(early, oz, at=at(10, before(1)))
    ticket_of(oz, opened=at(8), promised=at(10, DAY + timedelta(days=1)))  # another day
    found = day_figures(DAY, at(12)).on_time
    assert (found.rate, found.missed, found.to_come) == (Rate(2, 5), 2, 1)
    assert found.rate.percent == 40


def test_a_part_on_the_rack_is_not_on_time(oz: User) -> None:
    ticket = ticket_of(oz, 2, opened=at(8), promised=at(10))
    rack(ticket, oz, only=[1], at=at(9))
    assert day_figures(DAY, at(11)).on_time.rate == Rate(0, 1)


def test_the_redo_rate_counts_pieces_and_names_station_and_reason(oz: User) -> None:
    ticket = ticket_of(oz, 4, opened=at(8))
    for piece in ticket.pieces.all():
        work(piece, oz, until="check", at=at(9))
    for position, station, reason in (
        (1, Station.WASH, "not clean"),
        (2, Station.WASH, "not clean"),
        (3, Station.INTAKE, "tag lost"),
    ):
        tracking.send_back(piece_at(ticket, position).code, station, reason, act(oz, at(10)))
    work(piece_at(ticket, 1), oz, until="check", at=at(11))
    tracking.send_back(piece_at(ticket, 1).code, Station.WASH, "not clean", act(oz, at(12)))
    found = day_figures(DAY, at(18))
    assert found.redo == Rate(3, 4)
    assert found.sent_back == [
        SentBack(Station.WASH, "not clean", 3),
        SentBack(Station.INTAKE, "tag lost", 1),
    ]


def test_first_pass_yield_is_right_first_time_by_inspected(oz: User) -> None:
    """Ten inspected: nine right first time, one sent back and right the second time."""
    ticket = ticket_of(oz, 10, opened=at(8))
    for piece in ticket.pieces.all():
        work(piece, oz, until="check", at=at(9))
    tracking.send_back(piece_at(ticket, 1).code, Station.WASH, "spot", act(oz, at(9)))
    for piece in ticket.pieces.all():
        work(piece, oz, until="assembly", at=at(10))
    found = day_figures(DAY, at(18))
    assert found.first_pass == Rate(9, 10)
    assert found.capacity_lost == pytest.approx(100 / 9)  # "11 percent more pieces than are sold"


def test_a_redo_after_the_check_does_not_change_the_day_it_passed(oz: User) -> None:
    ticket = ticket_of(oz, opened=at(8))
    piece = piece_at(ticket, 1)
    work(piece, oz, until="assembly", at=at(9))
    later = DAY + timedelta(days=1)
    tracking.send_back(piece.code, Station.WASH, "complaint", act(oz, at(9, later)))
    work(piece, oz, until="assembly", at=at(10, later))
    assert day_figures(DAY, at(18)).first_pass == Rate(1, 1)
    assert day_figures(later, at(18, later)).first_pass == Rate(0, 1)


def test_turnaround_is_the_middle_and_the_ninetieth_of_what_was_racked(oz: User) -> None:
    """Hours 1 to 10: nearest rank gives 5 for the middle and 9 for the 90th percentile."""
    for hours in range(1, 11):
        opened = at(18) - hours * HOUR
        rack(ticket_of(oz, opened=opened), oz, at=at(18))
    found = day_figures(DAY, at(18.5))
    assert (found.turnaround_median, found.turnaround_90) == (5 * HOUR, 9 * HOUR)
    assert found.turnaround_count == 10


def test_a_percentile_of_nothing_is_nothing() -> None:
    assert percentile([], 0.5) is None
    assert percentile([HOUR], 0.9) == HOUR


def test_booked_work_is_the_value_of_tickets_opened_that_day(oz: User) -> None:
    ticket_of(oz, 2, opened=at(8), price="4.50")
    ticket_of(oz, 1, opened=at(17), price="3.25")
    ticket_of(oz, 1, opened=at(8, before(1)), price="100.00")
    found = day_figures(DAY, at(18))
    assert (found.booked, found.booked_count) == (D("12.25"), 2)


def test_takings_are_money_of_the_day_and_not_booked_work(oz: User) -> None:
    ticket = ticket_of(oz, opened=at(8, before(1)), price="8.00")
    payments.take(ticket, "deposit", "cash", D("3.00"), act(oz, at(9)), "a")
    assert day_figures(DAY, at(18)).takings.total == D("3.00")
    assert day_figures(before(1), at(18)).takings.total == 0


def test_the_chart_counts_each_piece_once_on_the_day_it_was_racked(oz: User) -> None:
    ticket = rack(ticket_of(oz, 2, opened=at(8, before(1))), oz, at=at(10))
    tracking.rack(piece_at(ticket, 1).code, "A2", act(oz, at(11)))  # only hung elsewhere
    rack(ticket_of(oz, 1, opened=at(8, before(13))), oz, at=at(10, before(13)))
    rack(ticket_of(oz, 1, opened=at(8, before(14))), oz, at=at(10, before(14)))
    found = day_figures(DAY, at(18))
    assert [day for day, _count in found.chart] == [before(13 - ahead) for ahead in range(14)]
    assert [count for _day, count in found.chart] == [1, *[0] * 12, 2]
    assert found.finished == 2


def test_the_bars_are_as_high_as_their_counts() -> None:
    chart = bar_chart([(before(1), 5), (DAY, 10)])
    low, high = chart.bars
    assert (low.height, high.height) == (63, 126)
    assert low.y + low.height == high.y + high.height == chart.base
    assert bar_chart([(DAY, 0)]).empty


def test_littles_law_in_a_steady_shop(oz: User) -> None:
    """Two pieces come in each day and each takes two days: 4 in process / 2 a day = 2 days.

    The law: L = lambda W (J. D. C. Little, "A Proof for the Queuing Formula L = λW", Operations
    Research 9(3), 1961; from memory).
    """
    for days in range(17):
        opened = at(12, before(days))
        ticket = ticket_of(oz, 2, opened=opened)
        if days >= 2:
            rack(ticket, oz, at=opened + timedelta(days=2))
    in_process = now_figures(at(12.1)).in_process_total
    check = day_figures(DAY, at(12.1)).littles_law(in_process)
    assert (check.in_process, check.finished_a_day) == (4, 2)
    assert check.expected_days == check.actual_days == 2


def test_littles_law_by_the_worked_example() -> None:
    """180 pieces in process and 60 finished a day means three days on average."""
    assert LittlesLaw(180, 60, None).expected_days == 3
    assert LittlesLaw(180, 0, None).expected_days is None


def test_rates_of_nothing_are_not_a_number() -> None:
    assert Rate(0, 0).percent is None
    found = day_figures(DAY, at(12))
    assert (found.capacity_lost, found.turnaround_median) == (None, None)


# The lists agree with the figures


@pytest.fixture
def busy(oz: User) -> Ticket:
    """One of everything."""
    StationCrew.objects.get_or_create(station=Station.WASH)
    ticket = ticket_of(oz, 4, opened=at(8), promised=at(11), price="2.00")
    rack(ticket, oz, only=[1, 2], at=at(9))
    tracking.hold(piece_at(ticket, 3).code, "ask", oz, DAY, act(oz, at(9)))
    work(piece_at(ticket, 4), oz, until="check", at=at(9))
    tracking.send_back(piece_at(ticket, 4).code, Station.WASH, "spot", act(oz, at(9)))
    other = make_customer("Bo Field", "01632 960124")
    ready = rack(ticket_of(oz, 1, opened=at(8), promised=at(12), customer=other), oz, at=at(9))
    payments.take(ready, "payment", "card", D("1.00"), act(oz, at(9)), "a")
    return ticket


def test_each_list_holds_as_many_rows_as_its_figure_says(busy: Ticket) -> None:
    moment = at(11.5)
    now, day = now_figures(moment), day_figures(DAY, moment)

    def count(figure: str) -> int:
        found = figure_list(figure, DAY, moment)
        assert found is not None, figure
        assert found.formula
        return len(found.rows)

    assert count("late") == len(now.late) == 1
    assert count("at-risk") == len(now.at_risk) == 0
    assert count("holds") == len(now.holds) == 1
    assert count("in-process") == now.in_process_total == 2
    assert count("unpaid") == now.unpaid_count == 1
    assert count("due") == day.on_time.rate.whole == 2
    assert count("finished") == day.finished == 3
    assert count("redo") == sum(row.count for row in day.sent_back) == 1
    assert count("first-pass") == day.first_pass.whole == 4
    assert count("turnaround") == day.turnaround_count == 1
    assert count("booked") == day.booked_count == 2
    assert count("takings") == sum(row.count for row in day.takings.rows) == 1
    for band in now.unclaimed:
        assert count(f"unclaimed-{band.key}") == band.count
    for row in day.stations:
        assert count(f"came-{row.station}") == row.came, row
        assert count(f"left-{row.station}") == row.left, row
        assert count(f"process-{row.station}") == now.in_process.get(row.station, 0)
    for load in now.loads:
        assert count(f"jam-{load.station}") == 1


@pytest.mark.parametrize("figure", ["", "nothing", "came-moon", "unclaimed-5", "jam-", "late-wash"])
def test_a_figure_that_is_none_has_no_list(oz: User, figure: str) -> None:
    assert figure_list(figure, DAY, at(12)) is None


def test_lists_of_money_add_up_to_their_figures(busy: Ticket) -> None:
    now, day = now_figures(at(11.5)), day_figures(DAY, at(11.5))
    totals = [
        figure_list(figure, DAY, at(11.5)).total  # type: ignore[union-attr]
        for figure in ("unpaid", "takings", "booked")
    ]
    assert totals == [now.unpaid, day.takings.total, day.booked]
