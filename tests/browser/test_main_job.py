"""One ticket of three pieces from the door to the customer's hands, by pointer and taps."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from django.contrib.auth.models import User
from playwright.sync_api import Page, expect

from tests import building
from tests.browser.job import (
    AGAIN,
    NAME,
    PHONE,
    PIECES,
    TOTAL,
    WET_CHECK_AT,
    Garment,
    Papers,
    bars,
    passages,
)
from tests.tickets.printing import reading
from tickets.models import Ticket


def test_the_main_job_from_intake_to_the_owners_day(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    counter = page_at(1280, 900)
    sign_in(counter, "counter")
    take_in(counter)
    tags = print_tags(counter)
    slip = print_slip(counter)

    tablet = page_at(800, 1100, has_touch=True)
    sign_in(tablet, "backroom")
    work_at_the_stations(tablet, tags)
    assemble(tablet, tags, slip)
    hang(tablet, tags, "A1")

    hand_over(counter, tags, slip)
    owner = page_at(1280, 900)
    sign_in(owner, "owner")
    read_the_day(owner, slip)


def test_a_piece_of_another_ticket_never_leaves_with_this_one(
    page_at: Callable[..., Page], staff: Mapping[str, User], other_ticket: Ticket
) -> None:
    mine = ready_ticket(staff)
    page = page_at(1280)
    sign_in(page, "counter")
    page.goto(f"/pickup/{mine.number}/")
    foreign = other_ticket.pieces.get()
    page.get_by_label("Scan each piece that leaves").fill(foreign.code)
    page.keyboard.press("Enter")
    refused = page.locator("#results li").first
    expect(refused).to_contain_text(
        f"No {foreign.spoken} belongs to ticket {other_ticket.number}, not to {mine.number}."
    )
    expect(page.locator("#head-scan")).to_contain_text("0 of 1")
    expect(page.locator("#pickup-count button")).to_be_disabled()
    assert not other_ticket.pickups.exists()


def ready_ticket(staff: Mapping[str, User]) -> Ticket:
    return building.make_ready(building.make_ticket(staff["backroom"]), staff["backroom"])


def sign_in(page: Page, role: str) -> None:
    page.goto("/")
    page.get_by_label("Username").fill(f"test-{role}")
    page.get_by_label("Password").fill("pw")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("link", name="Back room", exact=True)).to_be_visible()
    page.wait_for_load_state()


def take_in(page: Page) -> None:
    """A customer nobody knows yet, three pieces, one ticket."""
    search = page.get_by_label("Phone, name or ticket number")
    search.fill("960123")
    expect(page.get_by_text("Nobody found for “960123”.")).to_be_visible()
    page.get_by_role("link", name="New customer “960123”").click()
    page.get_by_label("Name").fill(NAME)
    page.get_by_label("Phone").fill(PHONE)
    page.get_by_role("button", name="Save customer").click()
    expect(page.locator(".read-back .number")).to_have_text(PHONE)
    page.get_by_role("button", name="Take in pieces").click()
    for number, garment in enumerate(PIECES, 1):
        page.get_by_role("button", name=re.compile("^(First|Next) piece$")).click()
        expect(page.get_by_role("heading", level=1)).to_have_text(f"Piece {number} of {number}")
        describe(page, garment)
        page.get_by_role("button", name="Done with this piece").click()
    expect(page.locator("#sums .total")).to_have_text(TOTAL)
    expect(page.get_by_text("Earliest promise")).to_be_visible()
    page.get_by_role("button", name="Open the ticket").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(r"^1\d{6}$"))


def describe(page: Page, garment: Garment) -> None:
    """Answer what the editor asks; the decision follows without leaving the page."""

    def tap(group: str, *names: str, role: Any = "radio") -> None:
        for name in names:
            page.locator(group).get_by_role(role, name=name, exact=True).check()

    tap("#group-kind", garment.kind)
    tap("#group-services", *garment.services, role="checkbox")
    tap("#pick-work", *garment.work, role="checkbox")
    tap("#group-colour", garment.colour)
    tap("#group-construction", garment.construction)
    page.get_by_role("button", name=garment.mix, exact=True).click()
    expect(page.locator("#fibre-0-0")).to_have_value(garment.fibres[0][0])
    for group, symbol in garment.symbols:
        tap_symbol(page, group, symbol)
    expect(
        page.locator("#group-label").get_by_role("radio", name="Read", exact=True)
    ).to_be_checked()
    tap("#group-pockets", garment.pockets)
    tap("#group-stains", "Listed" if garment.stains else "None seen")
    tap("#pick-stains", *garment.stains, role="checkbox")
    tap("#group-damage", "None seen")
    tap("#group-fastenings", garment.fastenings)
    expect(page.locator("#bar-outcome")).to_contain_text("Can be taken in")
    expect(page.locator("#decision .process")).to_contain_text(garment.process)


def tap_symbol(page: Page, group: str, symbol: str) -> None:
    """Tap a symbol in its row; the row of the next group opens by itself, another one by a tap on
    the label."""
    if not page.locator(f"#strip-{group}").is_checked():
        page.locator(f"#strip-{group}").check()
    marks = page.locator(f"input[name=symbol-{group}]")
    marks.and_(page.get_by_label(symbol, exact=True)).check()


def print_tags(page: Page) -> list[str]:
    """The codes read off the printed tags, which every later scan uses."""
    papers = Papers(page.context)
    with page.context.expect_page() as opened:
        page.get_by_role("button", name="Print tags").click()
    opened.value.wait_for_load_state()
    codes = bars(papers.after(opened.value))
    assert len(codes) == 3
    assert [code[7:9] for code in codes] == ["01", "02", "03"]
    return codes


def print_slip(page: Page) -> str:
    """The ticket number read off the claim slip."""
    papers = Papers(page.context)
    with page.context.expect_page() as opened:
        page.get_by_role("button", name="Print the claim slip").click()
    opened.value.wait_for_load_state()
    pdf = papers.after(opened.value)
    text = " ".join(reading.words(pdf))
    assert NAME in text
    assert TOTAL in text
    (code,) = set(bars(pdf))
    return code


def scan(page: Page, line: str) -> None:
    """A scanner types what it reads and presses Enter; the box is ready for the next one."""
    box = page.get_by_label("Scan a tag, or type its figures")
    expect(box).to_be_focused()
    page.keyboard.type(line)
    page.keyboard.press("Enter")
    expect(box).to_have_value("")


def to_station(page: Page, name: str) -> None:
    page.get_by_role("link", name="Back room", exact=True).tap()
    page.locator(".overview").get_by_role("link", name=name, exact=True).tap()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Board: {name}")


def newest(page: Page) -> Any:
    return page.locator("#results .newest")


def spoken(code: str) -> str:
    return f"{code[:7]}-{code[7:9]}"


def work_at_the_stations(page: Page, tags: list[str]) -> None:
    """Each piece goes where its own page sends it; the shirt's wine is still there at first."""
    for garment, code in zip(PIECES, tags, strict=True):
        assert route_on_page(page, code) == list(garment.way[1:])
        pending = list(garment.way)
        while pending:
            here = pending.pop(0)
            wet = garment.stains and here == WET_CHECK_AT
            to_station(page, here)
            expect(page.locator(f"#piece-{code}")).to_be_visible()
            if not wet:
                scan(page, code)
                going = pending[0] if pending else "Assembly"
                expect(newest(page)).to_contain_text(f"{spoken(code)}: {here} done. Next: {going}.")
                continue
            answer_wet_check(page, code, "No, still there", "stain still there. Back to Spotting.")
            for again in AGAIN[:-1]:
                to_station(page, again)
                scan(page, code)
                expect(newest(page)).to_contain_text(f"{again} done.")
            to_station(page, here)
            answer_wet_check(page, code, "Yes, gone", "stain gone. Next: Dry.")


def route_on_page(page: Page, code: str) -> list[str]:
    """The stations of a piece as its page names them, neighbours of one name once."""
    page.get_by_role("link", name="Back room", exact=True).tap()
    page.get_by_label("Scan or type a tag or ticket to open it").fill(code)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(spoken(code))
    page.get_by_text("Steps through the shop").click()
    names = page.locator(".steps li > span").all_inner_texts()
    stations = [name.split("\n")[0] for name in names]
    work = [name for name in stations if name not in ("Intake", "Assembly")]
    return [name for at, name in enumerate(work) if at == 0 or name != work[at - 1]]


def answer_wet_check(page: Page, code: str, answer: str, says: str) -> None:
    scan(page, code)
    expect(newest(page)).to_contain_text("had a stain (red wine). Is it gone?")
    page.get_by_role("button", name=answer).tap()
    expect(newest(page)).to_contain_text(f"{spoken(code)}: {says}")


def assemble(page: Page, tags: list[str], slip: str) -> None:
    """Two of three matched are not a ticket; the page says which is missing and where it is."""
    to_station(page, "Assembly")
    for code in tags[:2]:
        scan(page, code)
    expect(newest(page)).to_contain_text(f"2 of 3 matched. Not ready: {spoken(tags[2])}:")
    page.goto(f"/tickets/{tags[0][:7]}/")
    page.get_by_role("button", name="Rack this part").tap()
    expect(page.locator(".message.error")).to_contain_text(
        f"Ticket {slip[:7]} is not complete. Not ready: {spoken(tags[2])}:"
    )
    to_station(page, "Rack")
    scan(page, tags[0])
    expect(newest(page)).to_contain_text("its ticket is not complete")
    to_station(page, "Assembly")
    scan(page, tags[2])
    expect(newest(page)).to_contain_text(f"Ticket {slip[:7]} is complete: to the rack.")


def hang(page: Page, tags: list[str], place: str) -> None:
    to_station(page, "Rack")
    for code in tags:
        scan(page, code)
        expect(newest(page)).to_contain_text(spoken(code))
    scan(page, f"RACK {place}")
    expect(newest(page)).to_contain_text(f"at {place}. Ticket {tags[0][:7]} is ready.")


def hand_over(page: Page, tags: list[str], slip: str) -> None:
    """Scan the slip, scan out each piece, take the money, hand over, print the receipt."""
    page.get_by_role("link", name="Pickup", exact=True).click()
    expect(page.get_by_label("Scan the claim slip or a tag")).to_be_focused()
    page.keyboard.type(slip)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(NAME)
    box = page.get_by_label("Scan each piece that leaves")
    for count, code in enumerate(tags, 1):
        expect(box).to_be_focused()
        page.keyboard.type(code)
        page.keyboard.press("Enter")
        expect(page.locator("#head-scan")).to_contain_text(f"{count} of 3")
    page.get_by_label("Cash given").and_(page.locator(".given input")).fill("30")
    page.get_by_role("button", name=f"Take {TOTAL}").click()
    expect(page.locator(".messages")).to_contain_text("£0.30")
    expect(page.locator("#head-pay")).to_contain_text("paid")
    page.get_by_role("radio", name=NAME).check()
    page.get_by_role("radio", name="Claim slip", exact=True).check()
    page.get_by_role("button", name="Hand over 3 pieces").click()
    expect(page.locator(".messages")).to_contain_text(f"3 pieces handed to {NAME}.")
    papers = Papers(page.context)
    with page.context.expect_page() as opened:
        page.locator(".money").get_by_role("button", name="Receipt").click()
    opened.value.wait_for_load_state()
    text = " ".join(reading.words(papers.after(opened.value)))
    assert NAME in text
    assert TOTAL in text


def read_the_day(page: Page, slip: str) -> None:
    """Every figure of the day comes from this one ticket and can be counted by hand."""
    came, left = passages()
    page.locator("summary").filter(has_text="By station").click()
    table = page.locator(".by-station tbody tr")
    shown = {
        row.locator("th").inner_text(): tuple(
            int(row.locator("td").nth(column).inner_text()) for column in (0, 1, 3)
        )
        for row in table.all()
    }
    expected = {name: (came[name], left[name], 0) for name in shown}
    assert shown == expected
    assert sum(left.values()) == sum(gone for _came, gone, _there in shown.values())

    def figure(name: str) -> Any:
        return page.locator(".figures li").filter(has_text=name).locator(".number")

    expect(figure("Booked work")).to_have_text(TOTAL)
    expect(figure("In process now")).to_have_text("0")
    expect(figure("Finished")).to_have_text("3")
    expect(page.locator(".to-settle")).not_to_contain_text("not paid")
    takings = page.get_by_role("region", name="Takings")
    expect(takings).to_contain_text(f"{TOTAL}: cash")
    takings.get_by_role("link", name="As a list").click()
    expect(page.get_by_role("row", name=re.compile(slip[:7]))).to_contain_text(TOTAL)
