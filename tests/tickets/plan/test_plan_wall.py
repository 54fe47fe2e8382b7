"""The plan on the wall: what stands there, what fits, and to whom it opens."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests import building
from tests.counter.rows import ticket_of
from tests.markup import text
from tests.tickets.floor import count_queries
from tickets.models import OpeningHours, Ticket
from tickets.plan.sheet import plan_sheet
from tickets.plan.shop_day import day_plan
from tickets.plan.wall import dues_of, wall_of
from tickets.printing import fonts

LEFT, RIGHT, TOP, FOOT = 250, 1480, 200, 1014
"""The lanes of a wall of 1920 by 1080, beside the stations' names, the title and the ready list."""
MOST_DUE = 9


def full_shop(by: User) -> None:
    building.make_machine("Washer 1")
    building.make_machine("Dryer 1", "dryer", 160)
    for _ in range(3):
        building.make_ticket(by, [building.shirt(), building.trousers(), building.jumper()])


def wide(said: str, size: float) -> float:
    """Width in pixels: an em is 72 points to an inch of 25.4 mm."""
    return fonts.width(said, size) * 72 / 25.4


def test_every_bar_stands_between_the_hours_and_every_word_in_its_room(
    oz: User, morning: datetime
) -> None:
    full_shop(oz)
    wall = wall_of(plan_sheet(day_plan(morning)))
    assert wall.bars
    for bar in wall.bars:
        assert bar.number
        assert bar.x >= LEFT
        assert bar.x + bar.width <= RIGHT + 6
        assert bar.y >= TOP
        assert bar.y + bar.height <= FOOT
        assert bar.text_x + wide(bar.number, 28) <= bar.x + bar.width
        if bar.says:
            assert bar.says_x + wide(bar.says, 26) <= bar.x + bar.width


def test_every_row_is_named_in_its_own_lane(oz: User, morning: datetime) -> None:
    """A name's baseline lies at the height of its row's bars, and each row has one lane."""
    full_shop(oz)
    wall = wall_of(plan_sheet(day_plan(morning)))
    lanes = sorted({(bar.y, bar.y + bar.height) for bar in wall.bars})
    named = [[row for row in wall.rows if begins < row.y < ends] for begins, ends in lanes]
    assert [len(rows) for rows in named] == [1] * len(lanes)
    assert len(lanes) > 3
    assert [row.y for row in wall.rows] == sorted(row.y for row in wall.rows)


def test_boxes_of_a_lane_stand_apart_and_work_too_short_is_joined(
    oz: User, morning: datetime
) -> None:
    """Each ticket of the plan stands in a box of its lane, alone or as one of the counted."""
    full_shop(oz)
    sheet = plan_sheet(day_plan(morning))
    bars = wall_of(sheet).bars
    for bar, after in pairwise(bars):
        if after.y == bar.y:
            assert bar.x + bar.width <= after.x
    assert len(bars) < sum(len(row.stretches) for row in sheet.rows)
    joined = [bar for bar in bars if bar.full.count("; ")]
    assert joined
    assert all("+" in bar.number or len(bar.number) == 4 for bar in joined)


def test_a_name_on_the_wall_is_never_cut() -> None:
    now = timezone.now()
    names = ["Brook A.", "Featherstonhaugh-Montgomery A.", "Wolfeschlegelsteinhausenberger A."]
    tickets = [(1000001 + n, now + timedelta(hours=1), name) for n, name in enumerate(names)]
    numbers = [number for number, _at, _name in tickets]
    dues = dues_of(tickets, now, dict.fromkeys(numbers, "due"), {n: str(n)[-4:] for n in numbers})
    assert [due.customer for due in dues] == ["Brook A.", "Montgomery", ""]


def test_people_of_a_station_are_numbers_and_machines_keep_their_names(
    oz: User, morning: datetime
) -> None:
    full_shop(oz)
    names = {row.name for row in wall_of(plan_sheet(day_plan(morning))).rows}
    assert "Washer 1" in names
    assert not [name for name in names if name.startswith("person")]


def test_the_list_is_by_hour_late_first_and_no_longer_than_the_wall() -> None:
    now = timezone.now()
    tickets = [(1000001 + n, now + timedelta(hours=n - 1), "Brook A.") for n in range(12)]
    levels = {number: "late" if at < now else "due" for number, at, _name in tickets}
    dues = dues_of(tickets, now, levels, {number: str(number)[-4:] for number in levels})
    assert len(dues) == MOST_DUE
    assert (dues[0].when, dues[0].number, dues[0].level) == ("Late", "0001", "late")
    assert dues[-1].y + 35 <= 1080


def test_the_wall_names_what_must_be_ready_and_no_whole_name(office: Client, oz: User) -> None:
    ticket_of(oz, stations=("press",), minutes=20, promised=timezone.now() - timedelta(hours=1))
    said = text(office.get("/plan/wall/").content)
    assert "Ready by Late" in said
    name = Ticket.objects.get().customer.name
    assert name not in said


def test_the_wall_costs_the_same_for_1_and_20_tickets(office: Client, oz: User) -> None:
    def more(count: int) -> int:
        for _ in range(count):
            ticket_of(oz, stations=("press",), minutes=5, promised=timezone.now())
        office.get("/plan/wall/")
        return count_queries(office, "/plan/wall/")

    assert more(1) == more(19)


@pytest.mark.parametrize("role", ["counter", "backroom"])
def test_everybody_of_the_shop_reads_the_wall_and_nobody_else(
    oz: User, client: Client, role: str
) -> None:
    assert client.get("/plan/wall/").status_code == 302
    client.force_login(building.make_user(role))
    assert client.get("/plan/wall/").status_code == 200
    assert client.post("/plan/wall/").status_code == 405


def test_a_shop_that_never_opens_says_so_on_its_wall(office: Client) -> None:
    OpeningHours.objects.all().delete()
    assert "no open day" in text(office.get("/plan/wall/").content)
