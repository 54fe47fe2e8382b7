"""The same job by keyboard and scanner alone: no pointer is ever used.

A scanner is a keyboard that types what it reads and presses Enter. After signing in, no address
is typed either: everything is reached by Tab, arrows, Space, Enter and scan cards.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page, expect

from tests import building
from tests.browser.job import AGAIN, NAME, PHONE, PIECES, TOTAL, WET_CHECK_AT, Garment, Papers, bars
from tests.tickets.printing import reading
from tickets.choices import MoveKind
from tickets.models import Move, Ticket

MOST_TABS = 250
_WORDS_OF_FOCUS = """() => {
    const here = document.activeElement;
    if (!here || here === document.body) return "";
    const named = here.labels?.length ? here.labels[0].innerText : here.innerText;
    return (here.getAttribute("aria-label") || named || here.value || here.id || "")
        .replace(/\\s+/g, " ").replace(/:$/, "").trim();
}"""


@dataclass
class Hands:
    """Two hands on a keyboard, and a scanner."""

    page: Page

    def press(self, key: str, times: int = 1) -> None:
        for _ in range(times):
            self.page.keyboard.press(key)

    def scan(self, line: str) -> None:
        self.page.keyboard.type(line)
        self.page.keyboard.press("Enter")

    def focus(self) -> str:
        words: str = self.page.evaluate(_WORDS_OF_FOCUS)
        return words

    def tab_to(self, words: str, group: str = "") -> None:
        """Press Tab until the focus is on what bears exactly these words, within a group if named,
        or these and the number of pieces there, which a scan may still be changing.

        In a group of radio buttons Tab finds one; the arrows go on from there, as for everybody.
        """
        seen = []
        for _ in range(MOST_TABS):
            self.press("Tab")
            if group and not self._inside(group):
                continue
            seen.append(self.focus())
            bears = re.fullmatch(rf"{re.escape(words)}( \d+)?", seen[-1])
            if bears or self._arrow_to(words, seen[-1]):
                return
        passed = list(dict.fromkeys(seen))
        raise AssertionError(f"Tab never came to {words!r} in {group or 'the page'}: {passed}")

    def enter_on(self, words: str, group: str = "") -> None:
        self.tab_to(words, group)
        self.press("Enter")

    def choose(self, words: str, group: str = "") -> None:
        """Tick or choose, where the arrows have not chosen already."""
        self.tab_to(words, group)
        if not self.page.evaluate("document.activeElement.checked"):
            self.press("Space")

    def type_into(self, words: str, text: str, group: str = "") -> None:
        self.tab_to(words, group)
        self.page.keyboard.type(text)

    def _inside(self, group: str) -> bool:
        return bool(self.page.evaluate("g => !!document.activeElement?.closest(g)", group))

    def _arrow_to(self, words: str, first: str) -> bool:
        if not self.page.evaluate("document.activeElement?.type === 'radio'"):
            return False
        choices: list[str] = self.page.evaluate(
            """() => [...document.querySelectorAll(
                `input[type=radio][name="${document.activeElement.name}"]`)]
                .map((one) => one.labels[0].innerText.replace(/\\s+/g, " ").trim())"""
        )
        if words not in choices:
            return False
        self.press("ArrowRight", (choices.index(words) - choices.index(first)) % len(choices))
        assert self.focus() == words
        return True


def heading(page: Page) -> Any:
    return page.get_by_role("heading", level=1)


@pytest.mark.slow
def test_the_main_job_without_a_pointer(page: Page, staff: Mapping[str, User]) -> None:
    hands = Hands(page)
    papers = Papers(page.context)
    sign_in(hands, "counter")
    take_in(hands)
    tags = read_paper(hands, papers, "Print tags")
    slip = set(read_paper(hands, papers, "Print the claim slip")).pop()
    assert [len(code) for code in (*tags, slip)] == [10, 10, 10, 7]

    become(hands, "Test Backroom")
    cards = print_cards(hands, papers)
    work(hands, tags, cards)
    assemble_and_hang(hands, tags, slip, cards)

    become(hands, "Test Counter")
    hand_over(hands, papers, tags, slip)
    become(hands, "Test Owner")
    read_the_day(hands, slip)


def sign_in(hands: Hands, role: str) -> None:
    hands.page.goto("/")
    hands.page.wait_for_load_state()
    if hands.focus() != "Username":
        hands.tab_to("Username")
    hands.page.keyboard.type(f"test-{role}")
    hands.type_into("Password", "pw")
    hands.press("Enter")
    expect(hands.page.get_by_label("Phone, name or ticket number")).to_be_focused()


def become(hands: Hands, name: str) -> None:
    """Another person takes the device over with a PIN."""
    before = hands.page.locator(".person").inner_text().strip()
    hands.enter_on(" ".join(before.split()), ".person")
    expect(heading(hands.page)).to_have_text("Who is working?")
    hands.enter_on(name, ".people")
    expect(hands.page.get_by_label("PIN")).to_be_focused()
    hands.scan("2468")
    expect(hands.page.locator(".messages")).to_contain_text(f"You are {name} now.")
    hands.page.wait_for_load_state()


def take_in(hands: Hands) -> None:
    page = hands.page
    hands.scan("960123")
    expect(page.get_by_text("Nobody found for “960123”.")).to_be_visible()
    hands.enter_on("New customer “960123”")
    expect(heading(page)).to_have_text("New customer")
    hands.type_into("Name", NAME)
    hands.type_into("Phone", "")
    expect(page.get_by_label("Phone")).to_have_value("960123")
    hands.press("Control+a")
    page.keyboard.type(PHONE)
    hands.press("Enter")
    expect(page.locator(".read-back .number")).to_have_text(PHONE)
    hands.enter_on("Take in pieces")
    expect(page.get_by_role("button", name="First piece")).to_be_focused()
    for number, garment in enumerate(PIECES, 1):
        if number == 1:
            hands.press("Enter")
        else:
            hands.enter_on("Next piece")
        expect(heading(page)).to_have_text(f"Piece {number} of {number}")
        page.wait_for_load_state()
        describe(hands, garment)
        hands.enter_on("Done with this piece")
        expect(heading(page)).to_have_text(f"Intake for {NAME}")
    expect(page.locator("#sums .total")).to_have_text(TOTAL)
    hands.enter_on("Open the ticket")
    expect(heading(page)).to_have_text(re.compile(r"^1\d{6}$"))


def describe(hands: Hands, garment: Garment) -> None:
    """Down the page once, from top to bottom; the first kind has the focus already."""
    page = hands.page
    expect(page.locator("input[name=kind]").first).to_be_focused()
    first = page.evaluate(_WORDS_OF_FOCUS)
    if first == garment.kind:
        hands.press("Space")
    else:
        assert hands._arrow_to(garment.kind, first)
    for service in garment.services:
        hands.choose(service, "#group-services")
    for operation in garment.work:
        hands.choose(operation, "#pick-work")
    hands.choose(garment.colour, "#group-colour")
    hands.choose(garment.construction, "#group-construction")
    for row, (fibre, percent) in enumerate(garment.fibres):
        if row:
            hands.enter_on("Another fibre")
            expect(page.locator(f"#fibre-0-{row}")).to_be_visible()
            hands.press("Shift+Tab", 2)
        else:
            hands.tab_to("Fibre", "#parts")
        page.keyboard.type(fibre)
        hands.type_into("Percent", percent, "#parts")
    expect(page.locator("#group-symbols")).to_be_visible()
    for group, symbol in garment.symbols:
        hands.choose(symbol, f"#group-symbols fieldset:has([name=symbol-{group}])")
    hands.choose(garment.pockets, "#group-pockets")
    hands.choose("Listed" if garment.stains else "None seen", "#group-stains")
    for stain in garment.stains:
        hands.choose(stain, "#pick-stains")
    hands.choose("None seen", "#group-damage")
    hands.choose(garment.fastenings, "#group-fastenings")
    expect(page.locator("#bar-outcome")).to_contain_text("Can be taken in")
    expect(page.locator("#decision .process")).to_contain_text(garment.process)


def read_paper(hands: Hands, papers: Papers, words: str) -> list[str]:
    """Open a paper by Enter and read its bars; closing its window leaves the page as it was."""
    with hands.page.context.expect_page() as opened:
        hands.enter_on(words)
    opened.value.wait_for_load_state()
    return bars(papers.after(opened.value))


def print_cards(hands: Hands, papers: Papers) -> set[str]:
    expect(heading(hands.page)).to_be_visible()
    if heading(hands.page).inner_text() != "Back room":
        hands.enter_on("Back room")
        expect(heading(hands.page)).to_have_text("Back room")
    cards = set(read_paper(hands, papers, "Scan cards"))
    assert {"YES", "NO", "RACK A1", "RACK A2"} <= cards
    return cards


def to_station(hands: Hands, name: str) -> None:
    """By the links over the scan box, which Tab reaches on every board and on the overview."""
    page = hands.page
    if heading(page).inner_text() == "Back room":
        link = page.locator(".overview a").filter(has_text=re.compile(rf"^\s*{name}\b"))
        hands.enter_on(" ".join(link.inner_text().split()), ".overview")
    else:
        hands.enter_on(name, ".stations")
    expect(heading(page)).to_have_text(f"Board: {name}")
    page.wait_for_load_state()


def scan_at(hands: Hands, line: str, says: str) -> None:
    """One scan; the box has the focus before and after, and is empty again."""
    box = hands.page.get_by_label("Scan a tag, or type its figures")
    expect(box).to_be_focused()
    hands.scan(line)
    expect(hands.page.locator("#results .newest")).to_contain_text(says)
    expect(box).to_be_focused()
    expect(box).to_have_value("")


def work(hands: Hands, tags: list[str], cards: set[str]) -> None:
    for garment, code in zip(PIECES, tags, strict=True):
        pending = list(garment.way)
        while pending:
            here = pending.pop(0)
            to_station(hands, here)
            if not (garment.stains and here == WET_CHECK_AT):
                scan_at(hands, code, f"{here} done. Next: {pending[0] if pending else 'Assembly'}.")
                continue
            scan_at(hands, code, "Is it gone?")
            scan_at(hands, "NO", "stain still there. Back to Spotting.")
            for again in AGAIN[:-1]:
                to_station(hands, again)
                scan_at(hands, code, f"{again} done.")
            to_station(hands, here)
            scan_at(hands, code, "Is it gone?")
            scan_at(hands, "YES", "stain gone. Next: Dry.")


def assemble_and_hang(hands: Hands, tags: list[str], slip: str, cards: set[str]) -> None:
    to_station(hands, "Assembly")
    scan_at(hands, tags[0], "1 of 3 matched. Not ready:")
    scan_at(hands, slip, "1 of 3 matched. Not ready:")
    scan_at(hands, tags[1], "2 of 3 matched. Not ready:")
    scan_at(hands, tags[2], f"Ticket {slip} is complete: to the rack.")
    to_station(hands, "Rack")
    scan_at(hands, slip, "Where do you hang")
    scan_at(hands, next(card for card in cards if card == "RACK A1"), f"Ticket {slip} is ready.")


def hand_over(hands: Hands, papers: Papers, tags: list[str], slip: str) -> None:
    page = hands.page
    hands.enter_on("Pickup")
    expect(page.get_by_label("Scan the claim slip or a tag")).to_be_focused()
    hands.scan(slip)
    expect(heading(page)).to_contain_text(NAME)
    box = page.get_by_label("Scan each piece that leaves")
    for count, code in enumerate(tags, 1):
        expect(box).to_be_focused()
        hands.scan(code)
        expect(page.locator("#head-scan")).to_contain_text(f"{count} of 3")
    expect(box).to_be_focused()
    hands.choose("Card terminal", ".money")
    hands.enter_on(f"Take {TOTAL}", ".money")
    expect(page.locator("#head-pay")).to_contain_text("paid")
    page.wait_for_load_state()
    hands.choose(NAME, "form:has([name=who])")
    hands.choose("Claim slip", "form:has([name=proof])")
    hands.enter_on("Hand over 3 pieces")
    expect(page.locator(".messages")).to_contain_text(f"3 pieces handed to {NAME}.")
    page.wait_for_load_state()
    with page.context.expect_page() as opened:
        hands.enter_on("Receipt", ".money")
    opened.value.wait_for_load_state()
    assert TOTAL in " ".join(reading.words(papers.after(opened.value)))


def read_the_day(hands: Hands, slip: str) -> None:
    page = hands.page
    hands.enter_on("The day")
    finished = page.locator(".figures li").filter(has_text="Finished")
    expect(finished.locator(".number")).to_have_text("3")
    takings = page.get_by_role("region", name="Takings")
    expect(takings).to_contain_text(f"{TOTAL}: cash £0.00, card {TOTAL}")
    hands.enter_on("As a list", "[aria-labelledby=takings]")
    expect(heading(page)).to_contain_text("Takings")
    expect(page.get_by_role("row", name=re.compile(slip))).to_contain_text(TOTAL)


def test_twenty_scans_in_a_row_need_no_other_key(page: Page, staff: Mapping[str, User]) -> None:
    """Good ones, one twice and one that does not exist; the last five stay in sight."""
    ticket = building.make_ticket(staff["backroom"], [building.jumper()] * 18)
    codes = list(ticket.pieces.values_list("code", flat=True))
    hands = Hands(page)
    sign_in(hands, "counter")
    hands.enter_on("Back room")
    expect(heading(page)).to_have_text("Back room")
    to_station(hands, "Intake")
    lines = [*codes[:9], codes[3], *codes[9:17], "12345", codes[17]]
    assert len(lines) == 20
    for line in lines:
        says = "12345" if line == "12345" else f"{line[:7]}-{line[7:9]}"
        scan_at(hands, line, says)
    expect(page.locator("#tally")).to_contain_text("Nothing waits here.")
    words = [page.locator("#results .newest").inner_text(), *earlier(page)]
    expected = [codes[17], "12345", codes[16], codes[15], codes[14]]
    assert len(words) == 5
    for line, said in zip(expected, words, strict=True):
        assert (line if line == "12345" else f"{line[:7]}-{line[7:9]}") in said
    assert Move.objects.filter(kind=MoveKind.WORKED, piece__ticket=ticket).count() == 18
    assert Ticket.objects.count() == 1


def earlier(page: Page) -> list[str]:
    return page.locator("#results .earlier li").all_inner_texts()
