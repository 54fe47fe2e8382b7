"""The owner's figures of the moment, counted by hand; and every list agrees with its figure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from counter.money import services as payments
from counter.owner.day import day_figures
from counter.owner.lists import figure_list
from counter.owner.now import now_figures
from counter.pickup import services as pickup
from tests.building import known, make_customer
from tests.counter.rows import DAY, HOUR, act, at, before, piece_at, rack, ticket_of, work
from tickets.choices import Station
from tickets.models import ClosedDay, OpeningHours, RouteStep, StationCrew, Ticket
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db
D = Decimal


def numbers(tickets: Iterable[Ticket]) -> list[int]:
    return [ticket.number for ticket in tickets]


# Now


def test_late_tickets_are_the_unready_ones_past_their_promise_oldest_first(oz: User) -> None:
    newer = ticket_of(oz, opened=at(8, before(2)), promised=at(9))
    older = ticket_of(oz, opened=at(8, before(2)), promised=at(8))
    ticket_of(oz, opened=at(8), promised=at(16))
    racked = ticket_of(oz, opened=at(8, before(2)), promised=at(8))
    rack(racked, oz, at=at(9))
    held = ticket_of(oz, opened=at(8, before(2)), promised=at(9, before(1)))
    tracking.hold(piece_at(held, 1).code, "zip on order", oz, DAY, act(oz, at(9)))
    figures = now_figures(at(10))
    assert numbers(figures.late) == numbers([held, older, newer])


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
    figures = now_figures(at(10))
    assert figures.in_process == {Station.INTAKE: 2, Station.WASH: 1}
    assert (figures.in_process_total, figures.held) == (3, 1)


def test_holds_come_with_owner_and_day_and_those_due_are_told_apart(oz: User) -> None:
    ticket = ticket_of(oz, 2, opened=at(8))
    later = DAY + timedelta(days=1)
    tracking.hold(piece_at(ticket, 1).code, "later", oz, later, act(oz, at(9)))
    tracking.hold(piece_at(ticket, 2).code, "today", oz, DAY, act(oz, at(9)))
    figures = now_figures(at(10))
    assert [(hold.reason, hold.owner) for hold in figures.holds] == [("today", oz), ("later", oz)]
    assert [hold.reason for hold in figures.holds_due] == ["today"]


def test_unclaimed_tickets_fall_into_bands_by_days_since_ready(oz: User) -> None:
    for days in (0, 7, 8, 30, 31, 90, 91, 400):
        opened = at(9, before(days))
        rack(ticket_of(oz, opened=opened, price="1.00"), oz, at=opened + HOUR)
    bands = now_figures(at(12)).unclaimed
    assert [(band.key, band.count, band.owed) for band in bands] == [
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
    figures = now_figures(at(12))
    assert (figures.unpaid_count, figures.unpaid) == (2, D("10.20"))


def test_tomorrows_jam_is_the_queue_todays_crew_cannot_do(oz: User) -> None:
    """One person at the press, 8 hours left today: 480 of 1080 minutes; 600 remain for 600."""
    StationCrew.objects.create(station=Station.PRESS, people=1)
    ticket_of(oz, 12, stations=("press",), minutes=90, opened=at(9))
    figures = now_figures(at(10))
    [load] = figures.loads
    assert (load.station, load.queued, load.tomorrow) == (Station.PRESS, 1080, 600)
    assert (load.carried, load.share, load.jammed) == (600, 1.0, True)
    assert figures.jammed == [load]


def test_work_that_comes_too_late_today_is_carried_whatever_the_crew_could_do(oz: User) -> None:
    """At 17:00 one person presses 50 minutes; the check behind it begins at 17:50 and has ten of
    its thirty minutes. An hour earlier nothing is left over."""
    ticket_of(oz, stations=("press", "check"), minutes=0, opened=at(9))
    for station, minutes in (("press", 50), ("check", 30)):
        RouteStep.objects.filter(station=station).update(minutes=minutes)
    carried = [{load.station: load.carried for load in now_figures(at(h)).loads} for h in (17, 16)]
    assert carried == [
        {Station.PRESS: 0, Station.CHECK: 20},
        {Station.PRESS: 0, Station.CHECK: 0},
    ]


def test_a_drum_that_would_run_past_closing_is_carried(oz: User) -> None:
    """A wash of 10 crew minutes runs 55 (tickets/shop/minutes.csv): begun by 16:55 it is over."""
    ticket_of(oz, stations=("wash",), opened=at(9))
    for begins, minutes in ((16.9, 0), (17, 5), (17.5, 10)):
        assert [load.carried for load in now_figures(at(begins)).loads] == [
            pytest.approx(minutes)
        ], begins


def test_two_people_halve_a_jam_and_ninety_percent_is_none(oz: User) -> None:
    StationCrew.objects.create(station=Station.PRESS, people=2)
    ticket_of(oz, 12, stations=("press",), minutes=170, opened=at(9))
    [load] = now_figures(at(10)).loads  # 2040 queued, 960 today, 1080 of 1200 tomorrow
    assert (load.carried, load.share, load.jammed) == (1080, 0.9, False)


def test_a_closed_day_is_skipped_for_tomorrow(oz: User) -> None:
    ClosedDay.objects.create(day=DAY + timedelta(days=1))
    ticket_of(oz, opened=at(9))
    assert now_figures(at(10)).next_open == DAY + timedelta(days=2)


def test_a_shop_without_hours_still_has_a_page_of_figures(oz: User) -> None:
    OpeningHours.objects.all().delete()
    ticket_of(oz, opened=at(9))
    figures = now_figures(at(10))
    assert (figures.next_open, figures.in_process_total) == (None, 1)
    assert day_figures(DAY, at(10)).stations[0].per_hour is None


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
        listing = figure_list(figure, DAY, moment)
        assert listing is not None, figure
        assert listing.formula
        return len(listing.rows)

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
        known(figure_list(figure, DAY, at(11.5))).total
        for figure in ("unpaid", "takings", "booked")
    ]
    assert totals == [now.unpaid, day.takings.total, day.booked]
