"""A tablet in the back room runs a load from its proposal to the empty drum by scanner alone.

After signing in the board of the wash station is open. From there on nothing is touched: each
line is typed and ended with Enter, as a scanner does it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page, expect

from tests import building
from tickets.choices import MoveKind, Station
from tickets.models import Load, Move, Piece
from tickets.models.machines import LoadState

TENDER = ["wash_30_very_mild", "no_bleach", "tumble_low", "iron_110"]


def take_in(by: User) -> list[Piece]:
    """Two white shirts and a tender one."""
    white = building.shirt(stains=[])
    tender = {**white, "label": {**white["label"], "symbols": TENDER}}
    return list(building.make_ticket(by, [white, white, tender]).pieces.all())


def open_board(page: Page) -> None:
    page.goto("/boards/wash/")
    page.get_by_label("Username").fill("test-backroom")
    page.get_by_label("Password").fill("pw")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Board: Wash")
    page.wait_for_load_state()


def scan(page: Page, line: str, says: str = "") -> None:
    """One scan; the box has the focus before and after, and is empty again."""
    expect(page.locator("#id_line")).to_be_focused()
    page.keyboard.type(line)
    page.keyboard.press("Enter")
    if says:
        expect(page.locator("#results .newest")).to_contain_text(says)
        expect(page.locator("#id_line")).to_be_focused()
        expect(page.locator("#id_line")).to_have_value("")


def lead(page: Page, line: str, heading: str) -> None:
    """A scan that leads to another page."""
    scan(page, line)
    expect(page.get_by_role("heading", level=1, name=re.compile(heading))).to_be_visible()
    page.wait_for_load_state()


@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.slow)])
def test_from_proposal_to_the_empty_drum(
    page_at: Callable[..., Page],
    axe: Callable[[Page], list[str]],
    staff: Mapping[str, User],
    scheme: str,
) -> None:
    by = staff["backroom"]
    first, second, gentle = take_in(by)
    for piece in (first, second):
        building.work_until(piece, Station.WASH, by)
    building.make_machine()
    page = page_at(800, 1200, color_scheme=scheme, has_touch=True)
    open_board(page)
    lead(page, "LOADS", "^Loads: Wash$")
    expect(page.locator("#live")).to_contain_text("To run now")
    assert axe(page) == []

    lead(page, first.code, r"^Load \d+: Washer 1$")
    load = Load.objects.get()
    building.work_until(gentle, Station.WASH, by)  # it comes while they fill
    scan(page, gentle.code, "Adding this drops the load to 30 °C, very mild.")
    expect(page.get_by_role("button", name="Yes, add it")).to_be_visible()
    assert axe(page) == []
    scan(page, "NO", f"{gentle.spoken} stays out of this load.")
    scan(page, "CLOSE", "is closed with 2 pieces: Cotton 60.")
    scan(page, "START", f"Washer 1 runs load {load.pk}: Cotton 60.")
    expect(page.locator(".load-word")).to_have_text(re.compile("Running"))
    scan(page, "FINISH", "The run is over.")
    scan(page, first.code, f"Still in the drum: {second.spoken}.")
    scan(page, first.code, "is counted out already.")
    scan(page, second.code, "Count out equals count in: Washer 1 is free.")
    expect(page.locator(".load-word")).to_have_text(re.compile("Emptied"))
    assert axe(page) == []
    lead(page, "LOADS", "^Loads: Wash$")
    expect(page.locator(".machine")).to_contain_text("Free")

    load.refresh_from_db()
    assert load.state == LoadState.EMPTIED
    moves = Move.objects.filter(kind=MoveKind.WORKED, from_station=Station.WASH)
    assert sorted(moves.values_list("piece__code", flat=True)) == [first.code, second.code]


def test_every_button_is_big_enough_for_a_wet_thumb(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    """48 CSS pixels, and no page wider than a phone."""
    by = staff["backroom"]
    pieces = [building.work_until(piece, Station.WASH, by) for piece in take_in(by)]
    building.make_machine()
    page = page_at(360, 740)
    open_board(page)
    for path in ("/loads/wash/", f"/load/{building.make_load(by, pieces[:1]).pk}/"):
        page.goto(path)
        for button in page.locator("main button:visible, main .stations a:visible").all():
            box = button.bounding_box()
            assert box is not None
            assert box["height"] >= 48, button.inner_text()
        width = page.evaluate("document.documentElement.scrollWidth")
        assert width <= 360, path
