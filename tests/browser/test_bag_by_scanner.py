"""A tablet in the back room sends a bag to a partner and counts it back in, by scanner alone."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page, expect

from tests import building
from tests.browser.test_load_by_scanner import lead, scan
from tests.tickets.loads.test_load_bags import dry_only, packed
from tickets.models import Hold, Load, Partner, Piece
from tickets.models.machines import LoadState


def open_board(page: Page) -> None:
    page.goto("/boards/send_out/")
    page.get_by_label("Username").fill("test-backroom")
    page.get_by_label("Password").fill("pw")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Board: Send-out")
    page.wait_for_load_state()


@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.slow)])
def test_from_the_board_to_the_counted_bag(
    page_at: Callable[..., Page],
    axe: Callable[[Page], list[str]],
    staff: Mapping[str, User],
    scheme: str,
) -> None:
    first, second = packed(staff["backroom"], dry_only(), dry_only())
    page = page_at(800, 1200, color_scheme=scheme, has_touch=True)
    open_board(page)
    lead(page, "LOADS", "^Send-out bags$")
    expect(page.locator("#live")).to_contain_text("To pack now")
    assert axe(page) == []

    lead(page, first.code, r"^Bag \d+: Partner$")
    bag = Load.objects.get()
    scan(page, second.code, "is in this bag. Take it off?")
    assert axe(page) == []
    scan(page, "NO", f"{second.spoken} stays in.")
    scan(page, "CLOSE", f"Bag {bag.pk} for Partner is closed with 2 pieces.")
    scan(page, "START", f"Bag {bag.pk} is gone to Partner with 2 pieces.")
    expect(page.locator(".load-word")).to_have_text(re.compile("Gone"))
    scan(page, "FINISH", f"Bag {bag.pk} is back.")
    scan(page, first.code, f"Still in the bag: {second.spoken}.")
    page.get_by_text("A piece is not in the bag").click()
    page.get_by_role("button", name=f"{second.spoken} is not in the bag").click()
    expect(page.locator("body")).to_contain_text("It is on hold: ask Partner.")
    expect(page.locator(".load-word")).to_have_text(re.compile("Counted out"))
    assert axe(page) == []

    bag.refresh_from_db()
    assert bag.state == LoadState.EMPTIED
    assert Hold.objects.get().piece == second
    assert Piece.objects.get(pk=first.pk).station != "send_out"


def test_bags_fit_a_phone_and_a_thumb(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    """48 CSS pixels, and no page wider than a phone."""
    packed(staff["backroom"], dry_only(), dry_only())
    page = page_at(360, 740)
    open_board(page)
    page.goto("/loads/send_out/")
    page.get_by_role("button", name=re.compile("^Open this bag")).click()
    page.wait_for_url("**/load/*/")
    for path in ("/loads/send_out/", f"/load/{Load.objects.get().pk}/"):
        page.goto(path)
        for button in page.locator("main button:visible, main .stations a:visible").all():
            box = button.bounding_box()
            assert box is not None
            assert box["height"] >= 48, button.inner_text()
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, path


@pytest.mark.parametrize(
    "width", [360, *(pytest.param(width, marks=pytest.mark.slow) for width in (800, 1280))]
)
def test_the_owners_pages_of_days_and_partners_are_sound(
    page_at: Callable[..., Page],
    axe: Callable[[Page], list[str]],
    staff: Mapping[str, User],
    width: int,
) -> None:
    page = page_at(width, 900, color_scheme="dark" if width == 800 else "light")
    page.goto("/shop/hours/")
    page.get_by_label("Username").fill("test-owner")
    page.get_by_label("Password").fill("pw")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Hours and crews")
    building.make_machine("Press", "press", 0)
    partner = Partner.objects.get()
    pages = ["hours/", "partners/", f"partners/{partner.pk}/", "holidays/", "machines/", ""]
    for path in pages:
        page.goto(f"/shop/{path}")
        assert axe(page) == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
