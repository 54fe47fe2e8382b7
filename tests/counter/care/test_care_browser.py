"""The care page in a real browser: live, without script, and free of barriers."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page, expect

from counter.care.services import add_rule
from tests.browser.test_main_job import tap_symbol
from tests.browser.test_pages import unfold
from tests.building import make_shop, make_ticket, make_user
from tickets.acting import Act

pytestmark = pytest.mark.django_db(transaction=True)

LINK = (
    "/care/try/?kind=sweater_wool&colour=dark&construction=knit&fibre-0-0=wool&percent-0-0=100"
    "&label_state=read&symbol-wash=wash_40&symbol-tumble_dry=tumble_low&services=clean"
    "&stains=red+wine&trims=sequins"
)

PAGES = ["/care/", "/care/?q=wool", "/care/about/label.wash_40/", LINK, "/shop/house-rules/"]


@pytest.fixture
def owner() -> User:
    make_shop()
    return make_user("owner", "oz")


def sign_in(page: Page) -> None:
    page.goto("/login/")
    page.get_by_label("Username").fill("oz")
    page.get_by_label("Password").fill("pw")
    page.keyboard.press("Enter")
    page.wait_for_url("**/owner/")


def test_typing_finds_and_the_entry_can_be_tried(page: Page, owner: User) -> None:
    sign_in(page)
    page.get_by_role("link", name="Care", exact=True).click()
    page.wait_for_url("**/care/")
    page.wait_for_load_state("load")
    page.locator("#q").press_sequentially("cashm")
    page.locator("#found").get_by_role("link", name="Cashmere").first.click()
    page.get_by_role("link", name="Try a piece with it").click()
    expect(page.locator("#decision")).to_contain_text("Never: bleach")


def test_a_tap_changes_the_decision_and_the_picture_at_once(page: Page, owner: User) -> None:
    sign_in(page)
    page.goto(LINK)
    water = page.locator("figure.strip").filter(has_text="Water")
    expect(water).to_contain_text("at most 30 °C")
    tap_symbol(page, "wash", "wash 30 °C")
    tap_symbol(page, "wash", "do not wash")
    expect(water).to_contain_text("never")
    assert page.url.endswith(LINK.partition("?")[2])  # nothing was loaded anew


def test_without_script_the_button_shows_the_decision(
    page_at: Callable[..., Page], owner: User
) -> None:
    page = page_at(1280, java_script_enabled=False)
    sign_in(page)
    page.goto("/care/try/")
    page.get_by_label("cotton shirt", exact=True).check(force=True)
    page.get_by_role("radio", name="No label").check(force=True)
    page.locator(".panel").get_by_role("button", name="Show the decision").click()
    expect(page.locator("#decision")).to_contain_text("Hand wash")
    page.get_by_text("Why, as a picture").click()
    expect(page.locator("figure.strip").first).to_be_visible()


@pytest.mark.parametrize(
    ("width", "scheme"),
    [
        (1280, "dark"),
        *(
            pytest.param(width, scheme, marks=pytest.mark.slow)
            for width in (360, 800, 1280)
            for scheme in ("light", "dark")
            if (width, scheme) != (1280, "dark")
        ),
    ],
)
def test_the_pages_hold_no_barrier_and_fit_the_screen(
    page_at: Callable[..., Page],
    axe: Callable[[Page], list[str]],
    owner: User,
    width: int,
    scheme: str,
) -> None:
    add_rule("Cool wool", "fibre.wool", "felted", Act(by=owner), limits="wash.max_c=20")
    piece = make_ticket(owner).pieces.get()
    page = page_at(width, color_scheme=scheme)
    sign_in(page)
    for path in [*PAGES, f"/care/pieces/{piece.code}/"]:
        page.goto(path)
        unfold(page)
        assert axe(page) == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
