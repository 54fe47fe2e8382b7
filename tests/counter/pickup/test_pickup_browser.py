"""The pickup and the owner's pages in a real browser: by scanner alone, and free of barriers."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from playwright.sync_api import Page, expect

from counter.models import Pickup
from counter.money import services as payments
from tests.counter.rows import act, rack, ticket_of
from tickets.models import Ticket

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def ticket(oz: User) -> Ticket:
    return rack(ticket_of(oz, 3), oz)


def sign_in(page: Page) -> None:
    page.goto("/login/")
    page.get_by_label("Username").fill("oz")
    page.get_by_label("Password").fill("pw")
    page.keyboard.press("Enter")
    page.wait_for_url("**/owner/")


def test_a_quick_scanner_loses_no_line_and_the_box_stays(page: Page, ticket: Ticket) -> None:
    sign_in(page)
    page.goto(f"/pickup/{ticket.number}/")
    expect(page.locator("#id_line")).to_be_focused()
    for piece in ticket.pieces.all():  # as a scanner types: figures and Enter, without a pause
        page.keyboard.type(piece.code)
        page.keyboard.press("Enter")
    page.keyboard.type("123")
    page.keyboard.press("Enter")
    expect(page.locator("#head-scan")).to_contain_text("3 of 3")
    expect(page.locator("#results li")).to_have_count(4)
    expect(page.locator("#results li").first).to_contain_text("123 has 3 digits")
    expect(page.locator("#id_line")).to_be_focused()
    expect(page.locator("#id_line")).to_have_value("")


def test_a_pickup_from_search_to_receipt(page: Page, ticket: Ticket) -> None:
    sign_in(page)
    page.goto("/pickup/")
    expect(page.get_by_role("searchbox")).to_be_focused()
    page.keyboard.type(str(ticket.number))
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/pickup/{ticket.number}/")
    expect(page.locator("#id_line")).to_be_focused()
    for piece in ticket.pieces.all():
        page.keyboard.type(piece.code)
        page.keyboard.press("Enter")
    expect(page.locator("#head-scan")).to_contain_text("3 of 3")
    page.get_by_label("Cash given").and_(page.locator(".given input")).fill("20")
    page.get_by_role("button", name="Take £18.00").click()
    expect(page.get_by_text("Change to give back: £2.00.")).to_be_visible()
    page.get_by_label("Ada Brook").check()
    page.get_by_role("radio", name="Claim slip", exact=True).check()
    page.get_by_role("button", name="Hand over 3 pieces").click()
    expect(page.get_by_text("3 pieces handed to Ada Brook.")).to_be_visible()
    expect(page.get_by_role("button", name="Receipt").first).to_be_visible()
    assert Pickup.objects.get().proof == "slip"


def test_a_pickup_by_taps_without_script(
    page_at: Callable[..., Page], ticket: Ticket, oz: User
) -> None:
    page = page_at(800, java_script_enabled=False)
    sign_in(page)
    page.goto(f"/pickup/{ticket.number}/")
    for _ in range(2):
        page.get_by_role("button", name="Take out").first.click()
    page.get_by_role("link", name="Only these go").click()
    page.get_by_label("Somebody else").check()
    page.get_by_label("Their name").fill("Cy Marsh")
    page.get_by_label("Known to staff").check()
    page.get_by_label("£18.00 stays owed: why?").fill("monthly account")
    page.get_by_label("Only a part leaves: 1 piece stays here").check()
    page.get_by_role("button", name="Hand over 2 pieces").click()
    expect(page.get_by_text("2 pieces handed to Cy Marsh.")).to_be_visible()
    done = Pickup.objects.get()
    assert (done.part, done.owed_reason) == (True, "monthly account")


PAGES = [
    "/pickup/",
    "/pickup/?q=brook",
    "/pickup/{}/",
    "/tickets/{}/pay/",
    "/messages/",
    "/owner/",
    "/owner/figures/in-process/",
    "/shop/",
    "/shop/hours/",
    "/shop/places/",
    "/shop/prices/",
    "/shop/staff/",
]


@pytest.mark.parametrize(
    ("width", "scheme", "pages"),
    [
        (360, "light", PAGES[:6]),
        *(
            pytest.param(width, scheme, PAGES, marks=pytest.mark.slow)
            for width, scheme in [(360, "light"), (1280, "dark")]
        ),
    ],
    ids=["few", "telephone", "desk"],
)
def test_no_page_has_a_barrier_or_runs_off_the_screen(
    page_at: Callable[..., Page],
    axe: Callable[[Page], list[str]],
    oz: User,
    ticket: Ticket,
    width: int,
    scheme: str,
    pages: list[str],
) -> None:
    now = timezone.now()
    ticket_of(oz, customer=ticket.customer, opened=now - timedelta(days=3), promised=now)
    payments.take(ticket, "deposit", "cash", Decimal(5), act(oz), "a")
    page = page_at(width, color_scheme=scheme)
    sign_in(page)
    for address in pages:
        page.goto(address.format(ticket.number))
        assert axe(page) == [], address
        over = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert over <= 0, address
