"""The day plan on its page and on paper: one set of facts, said alike."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests import building
from tests.counter.rows import act, ticket_of
from tests.markup import text
from tests.tickets.printing.reading import sizes_mm
from tests.tickets.printing.reading import words as text_of
from tickets.choices import Station
from tickets.models import OpeningHours, RouteStep
from tickets.plan.chart import NARROW, WIDE, Scale, plan_chart
from tickets.plan.paper import build_plan, sheet_of
from tickets.plan.sheet import PlanSheet, plan_sheet, short_numbers
from tickets.plan.shop_day import day_plan
from tickets.printing import fonts
from tickets.printing.sizes import PaperError
from tickets.shop.face import ShopFace
from tickets.tracking import services as tracking


def full_shop(by: User) -> None:
    building.make_machine("Washer 1")
    building.make_machine("Dryer 1", "dryer", 160)
    for _ in range(3):
        building.make_ticket(by, [building.shirt(), building.trousers(), building.jumper()])
    stopped = building.make_ticket(by, [building.trousers()]).pieces.get()
    tracking.hold(stopped.code, "Which thread?", by, timezone.localdate(), act(by))


def sheet(at: datetime) -> PlanSheet:
    return plan_sheet(day_plan(at))


# The sheet


def test_every_piece_of_the_plan_stands_in_a_row_or_among_those_left(
    oz: User, morning: datetime
) -> None:
    full_shop(oz)
    plan = day_plan(morning)
    found = plan_sheet(plan)
    shown = {piece.code for row in found.rows for one in row.stretches for piece in one.pieces}
    left = {piece.code for group in found.left for piece in group.pieces}
    assert shown | left == set(plan.pieces)
    assert found.left_count == len(left)
    assert [group.says for group in found.left if "thread" in group.says] == [
        "On hold: Which thread?"
    ]


def test_short_work_of_a_person_stands_together_for_an_hour_at_the_most(
    oz: User, morning: datetime
) -> None:
    for _ in range(9):
        ticket_of(oz, stations=("press",), minutes=20, promised=morning + timedelta(hours=20))
    [press] = [row for row in sheet(morning).rows if row.station == "Press"]
    assert [(one.clock, one.says, len(one.pieces)) for one in press.stretches] == [
        ("08:00–09:00", "Press", 3),
        ("09:00–10:00", "Press", 3),
        ("10:00–11:00", "Press", 3),
    ]


def test_work_that_ends_after_its_promise_is_marked(oz: User, morning: datetime) -> None:
    ticket_of(oz, stations=("press",), minutes=20, promised=morning + timedelta(minutes=10))
    rows = sheet(morning).rows
    assert [(row.title, [one.late for one in row.stretches]) for row in rows] == [
        ("Press", [True]),
        ("Assembly", [True]),
    ]


@pytest.mark.parametrize(
    ("tickets", "short"),
    [
        ([], {}),
        ([1004821, 1004822], {1004821: "4821", 1004822: "4822"}),
        ([1004821, 1014821], {1004821: "04821", 1014821: "14821"}),
        ([1004821, 2004821], {1004821: "1004821", 2004821: "2004821"}),
    ],
)
def test_short_numbers_tell_all_tickets_apart(tickets: list[int], short: dict[int, str]) -> None:
    assert short_numbers(tickets) == short


def test_a_wet_piece_that_cannot_be_dried_today_is_not_forgotten(oz: User) -> None:
    evening = datetime(2026, 11, 26, 17, 57, tzinfo=UTC)
    ticket_of(oz, stations=("dry",), minutes=5, promised=evening + timedelta(days=1))
    RouteStep.objects.update(settings={"method": "tumble", "tumble": "low"})
    [group] = plan_sheet(day_plan(evening)).left
    assert "wet cloth must not lie" in group.says
    assert str(Station.DRY.label) in group.says


# The chart


@pytest.mark.parametrize("scale", [WIDE, NARROW])
def test_no_bar_and_no_word_runs_over_another(oz: User, morning: datetime, scale: Scale) -> None:
    full_shop(oz)
    chart = plan_chart(sheet(morning), scale)
    assert chart.bars
    for one, other in zip(chart.bars, chart.bars[1:], strict=False):
        if one.y == other.y:
            assert one.x + one.width <= other.x + scale.pad
            ends = [word.x + _wide(word.text, scale, word.bold) for word in one.words]
            assert max(ends, default=0) <= other.x
    for bar in chart.bars:
        assert scale.label <= bar.x
        assert bar.x + bar.width <= scale.width
        inside = [word for word in bar.words if not word.beside]
        for word in inside:
            assert word.x + _wide(word.text, scale, word.bold) <= bar.x + bar.width


def _wide(said: str, scale: Scale, bold: bool) -> float:
    """Width in the same units as the type size: an em is 72 points to an inch of 25.4 mm."""
    return fonts.width(said, scale.big if bold else scale.small, bold) * 72 / 25.4


def test_the_chart_begins_with_the_hour_of_now_and_shows_where_now_is(
    oz: User, morning: datetime
) -> None:
    ticket_of(oz, stations=("bench",), minutes=300, promised=morning + timedelta(hours=30))
    chart = plan_chart(sheet(morning + timedelta(hours=2, minutes=30)), WIDE)
    assert [tick.text for tick in chart.ticks] == [f"{hour}:00" for hour in range(10, 17)]
    assert chart.now is not None
    assert chart.now.text == "10:30"
    assert chart.now.x == pytest.approx(WIDE.label + (WIDE.width - WIDE.label) / 12, abs=0.1)
    after_closing = plan_chart(sheet(morning + timedelta(hours=12)), WIDE)
    assert (after_closing.now, after_closing.gone) == (None, None)


# The page


def test_the_page_says_for_each_station_what_and_when(office: Client, oz: User) -> None:
    full_shop(oz)
    html = office.get("/plan/").content
    said = text(html)
    for row in sheet(timezone.now()).rows:
        for one in row.stretches:
            assert f"{one.says} · {one.count}" in said
    assert "On hold: Which thread?" in said
    assert "Washer 1" in said
    assert "style=" not in html.decode()
    codes = set(re.findall(r"/pieces/(\d{10})/", html.decode()))
    assert codes == set(day_plan(timezone.now()).pieces)


def test_a_request_of_the_page_for_itself_gets_the_plan_alone(office: Client, oz: User) -> None:
    full_shop(oz)
    part = office.get("/plan/", headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert "plan-chart" in part


def test_an_idle_shop_and_one_that_never_opens_say_so(office: Client) -> None:
    assert "Nothing waits for anybody." in text(office.get("/plan/").content)
    OpeningHours.objects.all().delete()
    assert "no open day" in text(office.get("/plan/").content)
    assert office.get("/plan/paper/").status_code == 404


@pytest.mark.parametrize("role", ["counter", "backroom"])
def test_everybody_of_the_shop_reads_the_plan_and_nobody_else(
    oz: User, client: Client, role: str
) -> None:
    assert client.get("/plan/").status_code == 302
    client.force_login(building.make_user(role))
    assert client.get("/plan/").status_code == 200
    assert client.get("/plan/paper/").status_code == 200
    assert client.post("/plan/").status_code == 405


@pytest.mark.parametrize(("role", "shown"), [("owner", 1), ("counter", 1), ("backroom", 0)])
def test_who_may_say_who_is_there_finds_the_way_to_it_on_the_plan(
    oz: User, client: Client, role: str, shown: int
) -> None:
    client.force_login(building.make_user(role))
    assert text(client.get("/plan/").content).count("Who is there") == shown


# The paper


def test_the_paper_says_what_the_page_says(oz: User, morning: datetime) -> None:
    full_shop(oz)
    plan = sheet(morning)
    said = " ".join(text_of(build_plan(plan, "Test Counter")))
    assert f"Today's plan: {plan.day_words}" in said
    for row in plan.rows:
        for one in row.stretches:
            assert one.clock in said
            assert f"{one.says} · {one.count}: {one.pieces[0].spoken}" in said
    for group in plan.left:
        assert group.says in said


@pytest.mark.parametrize(("paper", "size"), [("a4", (297.0, 210.0)), ("letter", (279.4, 215.9))])
def test_the_paper_lies_on_its_long_side(
    oz: User, morning: datetime, paper: str, size: tuple[float, float]
) -> None:
    """ISO 216 A4 and ANSI Letter, turned."""
    full_shop(oz)
    pages = sizes_mm(build_plan(sheet(morning), "Test Counter", paper))
    assert set(pages) == {size}


def test_more_rows_than_a_page_holds_go_on_the_next_one(oz: User, morning: datetime) -> None:
    full_shop(oz)
    few, plan = len(sizes_mm(build_plan(sheet(morning), "Test"))), sheet(morning)
    row = plan.rows[0]
    many = replace(plan, rows=(*plan.rows, *[row] * 40))
    assert len(sizes_mm(build_plan(many, "Test"))) > few


def test_the_plan_fits_no_receipt_roll(oz: User, morning: datetime) -> None:
    with pytest.raises(PaperError, match="a4 or letter"):
        build_plan(sheet(morning), "Test Counter", "roll-80")


@pytest.mark.parametrize(
    ("face", "paper"),
    [
        (ShopFace(slip_paper="letter"), "letter"),
        (ShopFace(slip_paper="a4", country="US"), "a4"),
        (ShopFace(slip_paper="roll-80", tag_size="sheet-letter"), "letter"),
        (ShopFace(slip_paper="a5", tag_size="sheet-a4", country="US"), "a4"),
        (ShopFace(slip_paper="roll-80", country="US"), "letter"),
        (ShopFace(slip_paper="a5"), "a4"),
    ],
)
def test_the_sheet_is_what_the_shop_prints_on(face: ShopFace, paper: str) -> None:
    assert sheet_of(face) == paper


def test_the_address_gives_a_pdf_and_refuses_other_sheets(office: Client, oz: User) -> None:
    full_shop(oz)
    answer = office.get("/plan/paper/?paper=letter")
    assert answer["Content-Type"] == "application/pdf"
    assert sizes_mm(answer.content)[0] == (279.4, 215.9)
    assert office.get("/plan/paper/?paper=a5").status_code == 404
