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
from tickets.models import Move


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
    other.get_by_role("button", name="Sign out of this device").click()
    sign_in(other, "owner")
    before = Move.objects.count()
    page.keyboard.type(piece.code)
    page.keyboard.press("Enter")
    expect(page.locator(".message")).to_contain_text("what was sent last was not done")
    assert Move.objects.count() == before
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
