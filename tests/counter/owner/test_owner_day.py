"""The owner's figures of a day, each against a small case counted by hand."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from counter.money import services as payments
from counter.owner.day import LittlesLaw, SentBack, day_figures
from counter.owner.now import now_figures
from counter.owner.rate import Rate, percentile
from counter.pickup import services as pickup
from tests.counter.rows import DAY, HOUR, act, at, before, piece_at, rack, ticket_of, work
from tickets.choices import Station
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db
D = Decimal


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
    flows = {row.station.value: (row.came, row.left) for row in day_figures(DAY, at(18)).stations}
    assert flows == {
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
    on_time = day_figures(DAY, at(12)).on_time
    assert (on_time.rate, on_time.missed, on_time.to_come) == (Rate(2, 5), 2, 1)
    assert on_time.decided == Rate(2, 4)  # what is to come is not decided


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
    figures = day_figures(DAY, at(18))
    assert figures.redo == Rate(3, 4)
    assert figures.sent_back == [
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
    figures = day_figures(DAY, at(18))
    assert figures.first_pass == Rate(9, 10)
    assert figures.capacity_lost == pytest.approx(100 / 9)  # "11 percent more pieces than are sold"


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
    figures = day_figures(DAY, at(18.5))
    assert (figures.turnaround_median, figures.turnaround_90) == (5 * HOUR, 9 * HOUR)
    assert figures.turnaround_count == 10


def test_a_percentile_of_nothing_is_nothing() -> None:
    assert percentile([], 0.5) is None
    assert percentile([HOUR], 0.9) == HOUR


def test_booked_work_is_the_value_of_tickets_opened_that_day(oz: User) -> None:
    ticket_of(oz, 2, opened=at(8), price="4.50")
    ticket_of(oz, 1, opened=at(17), price="3.25")
    ticket_of(oz, 1, opened=at(8, before(1)), price="100.00")
    figures = day_figures(DAY, at(18))
    assert (figures.booked, figures.booked_count) == (D("12.25"), 2)


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
    figures = day_figures(DAY, at(18))
    assert [day for day, _count in figures.chart] == [before(13 - ahead) for ahead in range(14)]
    assert [count for _day, count in figures.chart] == [1, *[0] * 12, 2]
    assert figures.finished == 2


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
    figures = day_figures(DAY, at(12))
    assert (figures.capacity_lost, figures.turnaround_median) == (None, None)


def test_only_what_the_check_itself_sends_back_counts_as_inspected(oz: User) -> None:
    """One fails at the check, one passes, one is sent back by the press before it came there."""
    ticket = ticket_of(oz, 3, opened=at(8), stations=("wash", "press", "check"))
    for position, station in ((1, "check"), (2, "check"), (3, "press")):
        work(piece_at(ticket, position), oz, until=station, at=at(9))
    tracking.send_back(piece_at(ticket, 1).code, Station.WASH, "not clean", act(oz, at(10)))
    work(piece_at(ticket, 2), oz, until="assembly", at=at(10))
    tracking.send_back(piece_at(ticket, 3).code, Station.WASH, "not clean", act(oz, at(10)))
    figures = day_figures(DAY, at(18))
    assert figures.first_pass == Rate(1, 2)
    assert figures.redo.part == 2
