"""The scan box in a real browser: a quick scanner, a slow network, and no script at all."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest
from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import Page, Route, expect

from tests.browser.looking import beyond_the_edge
from tests.building import jumper, make_ticket, shirt
from tickets.acting import Act
from tickets.choices import BOARD_STATIONS, MoveKind, Station
from tickets.models import Move, Piece
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.browser]


def sign_in(page: Page, client: Client) -> None:
    cookie = client.cookies["sessionid"]
    page.context.add_cookies(
        [{"name": "sessionid", "value": cookie.value, "domain": "localhost", "path": "/"}]
    )


def scan(page: Page, *lines: str) -> None:
    for line in lines:
        page.keyboard.type(line)
        page.keyboard.press("Enter")


def test_twenty_pieces_are_scanned_without_touching_the_screen(
    page_at: Callable[..., Page], back: Client, crew: User
) -> None:
    codes = list(make_ticket(crew, [jumper()] * 20).pieces.values_list("code", flat=True))
    page = page_at(800, 1100)
    sign_in(page, back)
    page.goto("/boards/intake/")
    scan(page, *codes)
    expect(page.locator("#tally")).to_contain_text("Nothing waits here.")
    expect(page.locator("#results .newest")).to_contain_text("20: Intake done.")
    expect(page.locator("#results .earlier li")).to_have_count(4)
    assert page.evaluate("document.activeElement.name") == "line"
    assert page.input_value("#id_line") == ""
    assert Move.objects.filter(kind=MoveKind.WORKED).count() == 20


def test_a_line_lost_on_the_way_is_sent_again_and_done_once(
    page_at: Callable[..., Page], back: Client, crew: User
) -> None:
    first, second = make_ticket(crew, [jumper()] * 2).pieces.values_list("code", flat=True)
    page = page_at(800)
    sign_in(page, back)
    page.goto("/boards/intake/")
    tries = []

    def lose_the_first_answer(route: Route) -> None:
        tries.append(route.request.post_data)
        if len(tries) == 1:
            route.fetch()  # it arrives and is done, but the tablet never hears of it
            route.abort()
        else:
            route.continue_()

    page.route("**/scan/", lose_the_first_answer)
    scan(page, first)
    expect(page.locator("#trouble")).to_be_visible()
    scan(page, second)
    expect(page.locator("#tally")).to_contain_text("Nothing waits here.")
    expect(page.locator("#trouble")).to_be_hidden()
    assert Move.objects.filter(kind=MoveKind.WORKED).count() == 2


def test_a_wet_check_is_answered_by_a_tap(
    page_at: Callable[..., Page], back: Client, crew: User
) -> None:
    piece = make_ticket(crew, [shirt()]).pieces.get()
    while at_station(piece)[0].step != "wet_check":
        tracking.finish_work(piece.code, Station(piece.station), Act(by=crew))
        piece = Piece.objects.get(pk=piece.pk)
    page = page_at(360, 740)
    sign_in(page, back)
    page.goto(f"/boards/{piece.station}/")
    page.get_by_role("button", name="Look and answer").click()
    page.get_by_role("button", name="No, still there").click()
    expect(page.locator("#results .newest")).to_contain_text("Back to Spotting")
    assert Piece.objects.get(pk=piece.pk).station == Station.SPOTTING


def test_a_refused_scan_stays_until_it_was_seen(
    page_at: Callable[..., Page], back: Client, crew: User
) -> None:
    """Neither later scans nor a renewed board nor the page anew take it away; one tap does."""
    codes = list(make_ticket(crew, [jumper()] * 8).pieces.values_list("code", flat=True))
    page = page_at(800, 1100)
    sign_in(page, back)
    page.goto("/boards/intake/")
    scan(page, "12345", *codes[:6])
    results = page.locator("#results")
    refused = results.locator(".earlier .bad")
    expect(results.locator(".newest")).to_contain_text("06: Intake done.")
    expect(refused).to_contain_text("12345")
    tracking.finish_work(codes[6], Station.INTAKE, Act(by=crew))
    page.evaluate("htmx.trigger('#live', 'refresh')")
    expect(page.locator(f"#card-{codes[6]}")).to_have_count(0)
    expect(refused).to_contain_text("12345")
    page.reload()
    expect(refused).to_contain_text("12345")
    results.get_by_role("button", name="Seen").click()
    expect(refused).to_have_count(0)
    expect(results.locator(".earlier li")).to_have_count(3)
    assert page.evaluate("document.activeElement.name") == "line"
    scan(page, "54321")
    expect(results.locator(".newest.bad")).to_contain_text("54321")
    results.get_by_role("button", name="Seen").click()
    expect(results.locator(".bad")).to_have_count(0)
    page.reload()
    expect(results.locator(".newest")).to_contain_text("06: Intake done.")
    expect(results.locator(".bad")).to_have_count(0)


def test_without_script_a_refused_scan_is_seen_by_one_tap_too(
    page_at: Callable[..., Page], back: Client
) -> None:
    page = page_at(360, java_script_enabled=False)
    sign_in(page, back)
    page.goto("/boards/intake/")
    page.fill("#id_line", "12345")
    page.press("#id_line", "Enter")
    page.get_by_role("button", name="Seen").click()
    expect(page.locator("#results .bad")).to_have_count(0)


def test_the_box_works_without_script(
    page_at: Callable[..., Page], back: Client, crew: User
) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    page = page_at(800, java_script_enabled=False)
    sign_in(page, back)
    page.goto("/boards/intake/")
    page.fill("#id_line", piece.code)
    page.press("#id_line", "Enter")
    expect(page.locator("#results .newest")).to_contain_text(f"{piece.spoken}: Intake done.")
    expect(page.locator("#sound")).to_be_hidden()


def test_the_sound_can_be_muted_and_stays_so(
    page_at: Callable[..., Page], back: Client, crew: User
) -> None:
    page = page_at(800)
    sign_in(page, back)
    page.goto("/boards/intake/")
    page.get_by_role("button", name="Sound on").click()
    page.reload()
    expect(page.get_by_role("button", name="Sound off")).to_have_attribute("aria-pressed", "false")


@pytest.mark.parametrize(
    ("width", "scheme"),
    [
        (360, "dark"),
        *(
            pytest.param(width, scheme, marks=pytest.mark.slow)
            for width, scheme in [(360, "light"), (1280, "light"), (1280, "dark")]
        ),
    ],
)
def test_no_page_of_the_back_room_has_a_fault_that_axe_can_find(
    page_at: Callable[..., Page],
    axe: Callable[[Page], list[str]],
    back: Client,
    crew: User,
    width: int,
    scheme: str,
) -> None:
    piece = make_ticket(crew, [shirt()]).pieces.get()
    tracking.finish_work(piece.code, Station.INTAKE, Act(by=crew))
    page = page_at(width, color_scheme=scheme)
    sign_in(page, back)
    for path in (
        "/boards/",
        "/boards/spotting/",
        f"/pieces/{piece.code}/",
        f"/tickets/{piece.ticket.number}/",
    ):
        page.goto(path)
        if path == "/boards/spotting/":
            scan(page, "12345")
            expect(page.locator("#results .newest")).to_contain_text("12345")
        assert axe(page) == [], path
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path


def test_the_station_at_hand_is_in_view_on_a_telephone(
    page_at: Callable[..., Page], back: Client
) -> None:
    page = page_at(360)
    sign_in(page, back)
    for station in BOARD_STATIONS:
        page.goto(f"/boards/{station}/")
        here = page.locator(".stations [aria-current]")
        expect(here).to_be_in_viewport(ratio=1)
        boxes = page.locator(".stations a").evaluate_all(
            "links => links.map((link) => link.getBoundingClientRect())"
            ".map((box) => [box.left, box.right])"
        )
        assert all(before[1] <= after[0] + 0.5 for before, after in pairwise(boxes)), station
        # A row that hides stations on a side says so on that side.
        sides = page.locator(".stations").evaluate("row => [row.scrollLeft, row.className]")
        assert ("more-left" in sides[1]) == (sides[0] > 1), station
        assert ("more-right" in sides[1]) == (boxes[-1][1] > 360), station


def test_long_answers_in_the_box_do_not_widen_a_telephone_page(
    page_at: Callable[..., Page], back: Client, crew: User
) -> None:
    page = page_at(360)
    sign_in(page, back)
    page.goto("/boards/spotting/")
    for line in ("12345", "HELLO", make_ticket(crew, [shirt()]).pieces.get().code):
        scan(page, line)
        expect(page.locator("#results .newest")).to_contain_text(line[:7])
    expect(page.locator("#results .earlier li")).to_have_count(2)
    assert beyond_the_edge(page) == []
