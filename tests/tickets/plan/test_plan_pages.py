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
from tests.counter.rows import act, piece_at, ticket_of
from tests.markup import text
from tests.tickets.printing.reading import sizes_mm
from tests.tickets.printing.reading import words as text_of
from tickets.choices import Station
from tickets.models import OpeningHours, RouteStep
from tickets.plan.chart import Scale, plan_chart
from tickets.plan.paper import build_plan, sheet_of
from tickets.plan.sheet import PlanSheet, plan_sheet, short_numbers
from tickets.plan.shop_day import day_plan
from tickets.printing import fonts
from tickets.printing.sizes import PaperError
from tickets.promise.open_work import current_mark
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
    sheet = plan_sheet(plan)
    shown = {
        piece.code for row in sheet.rows for stretch in row.stretches for piece in stretch.pieces
    }
    left = {piece.code for group in sheet.left for piece in group.pieces}
    assert shown | left == set(plan.pieces)
    assert sheet.left_count == len(left)
    assert [group.says for group in sheet.left if "thread" in group.says] == [
        "On hold: Which thread?"
    ]


def test_short_work_of_a_person_stands_together_for_an_hour_at_the_most(
    oz: User, morning: datetime
) -> None:
    for _ in range(9):
        ticket_of(oz, stations=("press",), minutes=20, promised=morning + timedelta(hours=20))
    [press] = [row for row in sheet(morning).rows if row.station == "Press"]
    assert [(stretch.clock, stretch.says, len(stretch.pieces)) for stretch in press.stretches] == [
        ("08:00–09:00", "Press", 3),
        ("09:00–10:00", "Press", 3),
        ("10:00–11:00", "Press", 3),
    ]


def test_work_that_ends_after_its_promise_is_marked(oz: User, morning: datetime) -> None:
    ticket_of(oz, stations=("press",), minutes=20, promised=morning + timedelta(minutes=10))
    rows = sheet(morning).rows
    assert [(row.title, [stretch.late for stretch in row.stretches]) for row in rows] == [
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

A4 = Scale(277, 38, 10, 8, 3.7, 2.9, 1)
FULL = Scale(277, 38, 7.5, 8, 2.775, 2.175, 1)
"""The paper's scales in millimetres: few rows, and as many as a page holds."""


@pytest.mark.parametrize("scale", [A4, FULL])
def test_no_bar_and_no_word_runs_over_another(oz: User, morning: datetime, scale: Scale) -> None:
    full_shop(oz)
    chart = plan_chart(sheet(morning), scale)
    assert chart.bars
    for left, right in zip(chart.bars, chart.bars[1:], strict=False):
        if left.y == right.y:
            assert left.x + left.width <= right.x + scale.pad
            ends = [word.x + _wide(word.text, scale, word.bold) for word in left.words]
            assert max(ends, default=0) <= right.x
    for bar in chart.bars:
        assert scale.label <= bar.x
        assert bar.x + bar.width <= scale.width
        inside = [word for word in bar.words if not word.beside]
        for word in inside:
            assert word.x + _wide(word.text, scale, word.bold) <= bar.x + bar.width


def _wide(said: str, scale: Scale, bold: bool) -> float:
    """Width in the same units as the type size: an em is 72 points to an inch of 25.4 mm."""
    return fonts.width(said, scale.big if bold else scale.small, bold) * 72 / 25.4


def test_the_chart_begins_with_the_hour_of_now(oz: User, morning: datetime) -> None:
    ticket_of(oz, stations=("bench",), minutes=300, promised=morning + timedelta(hours=30))
    chart = plan_chart(sheet(morning + timedelta(hours=2, minutes=30)), A4)
    assert [tick.text for tick in chart.ticks] == [f"{hour}:00" for hour in range(10, 17)]
    assert chart.gone is not None
    assert chart.gone.width == pytest.approx((A4.width - A4.label) / 12, abs=0.1)
    assert plan_chart(sheet(morning + timedelta(hours=12)), A4).gone is None


def test_a_chart_of_little_work_shows_four_hours(oz: User, morning: datetime) -> None:
    ticket_of(oz, stations=("bench",), minutes=20, promised=morning + timedelta(hours=30))
    assert [tick.text for tick in plan_chart(sheet(morning), A4).ticks] == [
        f"{hour:02}:00" for hour in range(8, 13)
    ]


def test_what_is_done_stands_whole_on_the_chart_or_not_at_all(oz: User, morning: datetime) -> None:
    full_shop(oz)
    plan = sheet(morning)
    said = {part.says for row in plan.rows for part in row.stretches}
    firsts = {says.partition(", ")[0] for says in said}
    under = [word.text for bar in plan_chart(plan, FULL).bars for word in bar.words[1:]]
    assert under
    assert set(under) <= said | firsts


# The page


def test_the_page_says_for_each_person_and_hour_when_who_and_what(office: Client, oz: User) -> None:
    full_shop(oz)
    html = office.get("/plan/").content
    said = text(html)
    for hour in sheet(timezone.now()).hours:
        for line in hour.work:
            late = " Late" if line.late else ""
            assert f"{line.clock} {line.row.title} {'; '.join(line.says)}{late} " in said
            for piece in line.pieces:
                assert f"{piece.spoken} {piece.what}" in said
            for stretch in line.stretches if len(line.pieces) > 1 < len(line.stretches) else ():
                assert f"{stretch.clock} {stretch.says} {stretch.pieces[0].spoken}" in said
    assert "On hold: Which thread?" in said
    assert "Washer 1" in said
    assert "style=" not in html.decode()
    codes = set(re.findall(r"/pieces/(\d{10})/", html.decode()))
    assert codes == set(day_plan(timezone.now()).pieces)


def test_a_person_has_one_row_in_an_hour_and_only_the_first_hour_stands_open(
    office: Client, oz: User
) -> None:
    """What comes later and what is left is a line with its count, until it is asked for."""
    full_shop(oz)
    for _ in range(20):
        ticket_of(oz, stations=("press",), minutes=20)
    plan = sheet(timezone.now())
    html = office.get("/plan/").content.decode()
    assert len(plan.hours) > 2
    assert html.count('<section class="plan-hour">') == 1
    assert html.count('<details class="plan-hour" id="') == len(plan.hours) - 1 + bool(plan.left)
    assert not re.search(r'class="plan-hour"[^>]* open', html)
    assert html.count('<td class="when">') == sum(len(hour.work) for hour in plan.hours)
    for hour in plan.hours[1:]:
        late = " Late" if hour.late else ""
        assert f"{hour.says} {hour.count}{late}" in text(html.encode())


def test_a_request_of_the_page_for_itself_gets_the_plan_alone(office: Client, oz: User) -> None:
    full_shop(oz)
    part = office.get("/plan/", headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert "plan-rows" in part


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
        for stretch in row.stretches:
            assert stretch.clock in said
            assert f"{stretch.says} · {stretch.count}: {stretch.pieces[0].spoken}" in said
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


def test_a_wall_that_shows_the_plan_as_it_is_gets_an_empty_answer(
    office: Client, oz: User, morning: datetime
) -> None:
    """Until something moves; the plan is played once for all who ask meanwhile."""
    ticket = ticket_of(oz, stations=("check",))
    page = office.get("/plan/").content.decode()
    mark = current_mark(timezone.now())
    assert f'name="seen" value="{mark}"' in page
    assert 'hx-include="#seen"' in page
    htmx = {"HX-Request": "true"}
    assert office.get("/plan/", {"seen": mark}, headers=htmx).status_code == 204
    assert office.get("/plan/", {"seen": mark}).status_code == 200
    first = day_plan(morning)
    assert day_plan(morning) is first
    tracking.finish_work(piece_at(ticket, 1).code, Station.CHECK, act(oz))
    assert office.get("/plan/", {"seen": mark}, headers=htmx).status_code == 200
    assert day_plan(morning) is not first
