"""What goes wrong in a busy hour: a slow photo, another person at the same device, a lost draft."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Page, Route, expect

from counter.intake import services
from counter.intake.services import start_draft
from counter.models import IntakeDraft
from tests import building
from tests.browser.test_main_job import sign_in
from tickets.acting import Act
from tickets.choices import Station
from tickets.models import Move
from tickets.tracking import services as tracking


@pytest.fixture
def draft(staff: Mapping[str, User]) -> IntakeDraft:
    draft = start_draft(building.make_customer(), staff["counter"])
    services.add_piece(draft.pk, 0)
    draft.refresh_from_db()
    return draft


def test_a_photo_that_takes_its_time_is_kept_and_nothing_is_complained_of(
    page_at: Callable[..., Page], draft: IntakeDraft, settings: object, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]
    path = reverse("intake_photo", args=[draft.pk, 1])

    on_its_way: list[Route] = []

    def slowly(route: Route) -> None:
        if "multipart" in route.request.headers.get("content-type", ""):
            on_its_way.append(route)
        else:
            route.continue_()

    page = page_at(800)
    sign_in(page, "counter")
    page.goto(reverse("intake_piece", args=[draft.pk, 1]))
    page.locator("#group-description > summary").click()
    page.route(f"**{path}", slowly)
    picture = io.BytesIO()
    Image.new("RGB", (60, 40), "red").save(picture, "JPEG")
    page.get_by_label("Photo", exact=True).set_input_files(
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}
    )
    page.wait_for_timeout(800)  # longer than the page waits before it sends a changed answer
    [photo] = on_its_way
    photo.continue_()
    expect(page.get_by_alt_text("Photo of the piece")).to_be_visible()
    expect(page.locator(".message")).to_have_count(0)
    draft.refresh_from_db()
    assert draft.pieces[0]["photo"]


def test_nothing_is_done_under_the_name_of_who_worked_here_before(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    piece = building.make_ticket(staff["counter"]).pieces.get()
    page = page_at(800)
    sign_in(page, "backroom")
    page.goto("/boards/intake/")
    other = page.context.new_page()
    other.goto("/switch/")
    other.get_by_role("button", name="Sign out this device").click()
    sign_in(other, "owner")
    before = Move.objects.count()
    page.keyboard.type(piece.code)
    page.keyboard.press("Enter")
    expect(page.locator(".message")).to_contain_text("what was sent last was not done")
    assert Move.objects.count() == before
    # The page has come anew: its words stand in it a little before its box takes keys.
    expect(page.locator("#scan input[name=line]")).to_be_focused()
    page.keyboard.type(piece.code)
    page.keyboard.press("Enter")
    expect(page.locator("#results .newest")).to_contain_text("Intake done.")
    assert Move.objects.latest("pk").by == staff["owner"]


def test_a_tap_on_an_intake_that_was_thrown_away_says_so(
    page_at: Callable[..., Page], draft: IntakeDraft
) -> None:
    page = page_at(800)
    sign_in(page, "counter")
    page.goto(reverse("intake_piece", args=[draft.pk, 1]))
    services.discard(draft.pk)
    page.locator("#group-colour").get_by_label("White").check()
    expect(page.locator("#trouble")).to_contain_text("The shop's computer could not do that.")
    expect(page.locator("#trouble")).not_to_contain_text("did not reach", use_inner_text=True)
    page.get_by_role("button", name="Open the page anew").click()
    expect(page.locator("main")).to_contain_text("This intake was thrown away.")


def test_a_wall_shows_what_has_changed_and_says_when_it_is_old(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    page = page_at(1280)
    page.clock.install()
    sign_in(page, "backroom")
    page.goto("/plan/wall/")
    old = page.get_by_text("This plan is old: the shop's computer does not answer.")
    number = str(building.make_ticket(staff["counter"]).number)[-4:]
    expect(page.locator("svg")).not_to_contain_text(number)
    # The next request is timed when a new plan has settled, a moment after its words stand there:
    # the clock runs through both, where a jump could pass before the second is set.
    page.clock.run_for(61_000)
    expect(page.locator("svg")).to_contain_text(number)
    expect(old).to_be_hidden()

    page.route("**/plan/wall/", lambda route: route.abort())
    page.clock.run_for(61_000)
    expect(old).to_be_visible()
    expect(page.locator("svg")).to_contain_text(number)
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")
    page.unroute("**/plan/wall/")
    page.clock.run_for(61_000)
    expect(old).to_be_hidden()


def test_what_the_reader_unfolded_stays_so_when_the_page_renews_itself(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    by = staff["backroom"]
    ticket = building.make_ticket(by, [building.jumper()] * 3)
    [first, second, third] = ticket.pieces.order_by("position")
    page = page_at(1280)
    sign_in(page, "backroom")

    def renew() -> None:
        tracking.finish_work(third.code, Station(third.station), Act(by=by))
        third.refresh_from_db()
        with page.expect_response(lambda answer: answer.status == 200):
            page.evaluate("htmx.trigger('#live', 'refresh')")

    page.goto("/boards/intake/")
    why = page.locator(f"#card-{second.code} details")
    why.locator("summary").click()
    renew()
    expect(page.locator(f"#card-{third.code}")).to_have_count(0)
    expect(why).to_have_attribute("open", "")
    expect(page.locator(f"#card-{first.code} details")).not_to_have_attribute("open", "")

    page.goto("/plan/")
    counted = page.locator("details.plan-how")
    counted.locator("summary").click()
    pieces = page.locator("#live table details")
    pieces.first.locator("summary").focus()
    page.keyboard.press("Enter")
    opened = pieces.first.get_attribute("data-fold")
    page.locator("#live").evaluate("live => live.setAttribute('hx-trigger', 'refresh')")
    page.evaluate("htmx.process(document.getElementById('live'))")
    renew()
    expect(counted).to_have_attribute("open", "")
    expect(page.locator("#live table details[open]")).to_have_count(1)
    expect(page.locator("#live table details[open]")).to_have_attribute("data-fold", opened or "")
