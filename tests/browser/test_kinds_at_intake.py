"""The editor follows the kind as it is filled in: what is asked, and which fibre stands first."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from django.contrib.auth.models import User
from django.urls import reverse
from playwright.sync_api import Page, expect

from counter.intake import services
from counter.intake.services import start_draft
from tests import building
from tests.browser.test_main_job import sign_in


def test_a_napkin_has_no_pockets_and_a_shirt_has_them_again(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    draft = start_draft(building.make_customer(), staff["counter"])
    services.add_piece(draft.pk, 0)
    page = page_at(1280)
    sign_in(page, "counter")
    page.goto(reverse("intake_piece", args=[draft.pk, 1]))
    expect(page.locator("#group-pockets")).to_be_visible()
    page.locator("#group-kind").get_by_label("Other:", exact=True).check()
    page.get_by_label("Other kind").fill("serviette")
    page.get_by_label("Other kind").press("Tab")
    expect(page.locator("#group-pockets")).to_be_hidden()
    expect(page.locator("#group-fastenings")).to_be_hidden()
    expect(page.locator("#group-stains")).to_be_visible()
    expect(page.locator("#mixes-0 button").first).to_have_text("100 % linen")
    expect(page.locator("#add-lining")).to_have_count(0)
    draft.refresh_from_db()
    assert draft.pieces[0]["facts"]["kind"] == "napkin"

    page.locator("#group-kind").get_by_label("cotton shirt", exact=True).check()
    expect(page.locator("#group-pockets")).to_be_visible()
    expect(page.locator("#mixes-0 button").first).to_have_text("100 % cotton")


def test_an_answered_group_folds_when_the_next_is_answered(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    """On a phone, without a reload: the group under the finger stays open, for it may take two
    taps; the one before it folds to what was said."""
    draft = start_draft(building.make_customer(), staff["counter"])
    services.add_piece(draft.pk, 0)
    page = page_at(360)
    sign_in(page, "counter")
    page.goto(reverse("intake_piece", args=[draft.pk, 1]))
    kind, asked = page.locator("#group-kind"), page.locator("#group-services")
    kind.get_by_label("cotton shirt", exact=True).check()
    expect(page.locator("#said-kind")).to_have_text("cotton shirt")
    expect(kind.get_by_label("wool jumper")).to_be_visible()
    asked.get_by_label("Clean", exact=True).check()
    expect(kind.get_by_label("wool jumper")).to_be_hidden()
    expect(kind.get_by_role("link", name="Change Kind")).to_be_visible()
    asked.get_by_label("Press", exact=True).check()
    page.locator("#group-colour").get_by_label("White").check()
    expect(page.locator("#said-services")).to_be_visible()
    expect(page.locator("#said-services")).to_have_text("Clean, Press")
    kind.get_by_role("link", name="Change Kind").click()
    expect(kind.get_by_label("wool jumper")).to_be_visible()
