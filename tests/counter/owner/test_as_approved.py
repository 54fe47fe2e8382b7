"""Every figure of the owner for one day of a busy shop, with the list behind it, as a person last
looked at it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from time_machine import Traveller

from counter.money import services as payments
from counter.owner.day import day_figures
from counter.owner.late import LateRow
from counter.owner.lists import figure_list
from counter.owner.now import BANDS, Band, now_figures
from counter.owner.wording import in_hours
from counter.pickup import services as pickup
from tests.approved import assert_approved
from tests.counter.rows import act, piece_at, rack, ticket_of, work
from tests.page_lines import page_lines
from tests.tickets.busy_shop import busy_shop, held_busy_shop
from tickets.choices import Station
from tickets.shop.queries import read_calendar
from tickets.tracking import services as tracking

APPROVED = Path(__file__).with_name("approved")
NAMED = [
    *("late", "at-risk", "holds", "in-process", "unpaid", "finished", "redo", "first-pass"),
    *("due", "turnaround", "booked", "takings"),
]
BY_STATION = [
    f"{what}-{station}" for what in ("came", "left", "process", "jam") for station in Station
]
UNCLAIMED = [f"unclaimed-{Band(*ends).key}" for ends in BANDS]


def finished_work(by: User, morning: datetime) -> None:
    """Racked on the day, one week before and a hundred days before; paid in part, in full and not;
    sent back from the check; collected."""
    for days, pieces, paid in ((0, 2, "5.00"), (8, 1, ""), (31, 1, ""), (100, 3, "18.00")):
        racked = morning + timedelta(hours=2) - timedelta(days=days)
        ticket = ticket_of(by, pieces, opened=racked - timedelta(days=2), promised=racked)
        rack(ticket, by, at=racked)
        if paid:
            payments.take(ticket, "deposit", "cash", Decimal(paid), act(by, racked), f"paid {days}")
    again = ticket_of(by, 2, opened=morning - timedelta(days=1), promised=morning)
    work(piece_at(again, 1), by, until="assembly", at=morning + timedelta(hours=1))
    back = act(by, morning + timedelta(hours=1.5))
    tracking.send_back(piece_at(again, 1).code, Station.WASH, "not clean", back)
    done = rack(ticket_of(by, 1, opened=morning - timedelta(days=1)), by, at=morning)
    taken = morning + timedelta(hours=1)
    pickup.scan(done.number, piece_at(done, 1).code, act(by, taken))
    pickup.hand_over(
        done.pickups.get().pk, "Ada", "slip", act(by, taken), owed_reason="next time", part_of=0
    )


def money(amount: Decimal | None) -> str:
    """Databases keep other numbers of noughts."""
    return "-" if amount is None else f"{amount:.2f}"


def list_lines(day: datetime, figure: str) -> Iterator[str]:
    listed = figure_list(figure, day.date(), day)
    assert listed is not None
    yield f"{figure}: {len(listed.rows)}, total {money(listed.total)}"
    for row in listed.rows:
        yield f"  {row.who} {row.what} {row.spoken or '-'} {money(row.amount)}: {row.note}"
        if isinstance(row, LateRow) and row.late is not None:
            late = row.late
            yield f"    {late.is_past} promised {late.promised}, ready {late.ready}, {late.after}"
            yield f"    at {late.stands_at}: {late.waits_for}"
            for help in late.helps:
                yield f"    {help.says}: {help.then} {help.late} ({help.page} {help.key})"


def test_the_owners_figures_are_as_approved(oz: User) -> None:
    morning = read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00"))
    busy_shop(oz, morning)
    finished_work(oz, morning)
    noon = morning + timedelta(hours=4)
    now, day = now_figures(noon), day_figures(noon.date(), noon)
    lines = [
        f"in process {now.in_process_total}: {sorted(now.in_process.items())}, held {now.held}",
        f"late {len(now.late)}, at risk {len(now.at_risk)}, holds {len(now.holds)}, "
        f"due {len(now.holds_due)}, unpaid {now.unpaid_count}: {money(now.unpaid)}, "
        f"next {now.next_open}",
        *(f"unclaimed {band.key}: {band.count} {money(band.owed)}" for band in now.unclaimed),
        f"jammed {[load.station for load in now.jammed]}",
        *(
            f"{row.station}: came {row.came}, left {row.left} in {row.hours:.2f} h"
            for row in day.stations
        ),
        f"finished {day.finished}, on time {day.on_time} missed {day.on_time.missed}",
        f"redo {day.redo}, {day.sent_back}, first pass {day.first_pass}, {day.capacity_lost}",
        f"turnaround {in_hours(day.turnaround_median)}, {in_hours(day.turnaround_90)} of "
        f"{day.turnaround_count}",
        f"takings {day.takings}, booked {money(day.booked)} of {day.booked_count}",
        f"chart {[(f'{on:%d %b}', count) for on, count in day.chart]}",
        f"law {day.littles_law(now.in_process_total)}",
    ]
    for figure in [*NAMED, *BY_STATION, *UNCLAIMED]:
        lines += list_lines(noon, figure)
    assert_approved(lines, APPROVED / "figures.txt")


def test_the_pages_are_as_approved(office: Client, oz: User, clock: Traveller) -> None:
    held_busy_shop(oz, clock)
    finished_work(oz, timezone.now() - timedelta(hours=4))
    figures = [f"/owner/figures/{figure}/" for figure in ("late", "at-risk", "unpaid", "takings")]
    paths = ["/owner/", "/owner/quarter/", *figures]
    pages = [(path, office.get(path).content) for path in paths]
    assert_approved(page_lines(pages), APPROVED / "pages.txt")
