"""The picture of the why, and the pages of the care book, as a person last looked at them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.test import Client

import care_rules
from counter.care import book
from counter.care.drawing import Strip, draw
from counter.models import Shop
from tests.approved import assert_approved
from tests.building import hivis_jacket, jumper, shirt
from tests.counter.intake.intaking import SHIRT
from tests.page_lines import page_lines

pytestmark = pytest.mark.django_db
APPROVED = Path(__file__).with_name("approved")
RICH = jumper(
    components=[
        {"part": "shell", "fibres": [{"fibre": fibre} for fibre in ("wool", "silk", "viscose")]},
        {"part": "lining", "fibres": [{"fibre": fibre} for fibre in ("acetate", "elastane")]},
    ],
    trims=["sequins", "beads", "metal_zip"],
    stains=[{"stain": "blood"}, {"stain": "red wine"}],
    damage=["tear", "open_seam"],
)


def strip_lines(strip: Strip) -> Iterator[str]:
    yield (
        f"{strip.name}: {strip.words}; {strip.width} by {strip.height:g}, line {strip.line:g}, "
        f"foot {strip.foot:g}, bar from {strip.start:g} for {strip.barred:g} at {strip.bar_top:g}, "
        f"end {strip.end:g}, x {strip.x:g}, open {strip.open}"
    )
    yield from (f"  stop {stop.x:g} {stop.words} {stop.anchor}" for stop in strip.stops)
    for mark in strip.marks:
        standing = f"{'decides ' * mark.decides}{'set aside' * mark.set_aside}"
        yield (
            f"  {mark.number} at {mark.x:g} {mark.y:g} ({mark.left:g} {mark.top:g} "
            f"{mark.baseline:g}) {mark.name}: {mark.words} {standing}"
        )


@pytest.mark.parametrize("fahrenheit", [False, True])
def test_the_picture_of_the_why_is_drawn_as_approved(fahrenheit: bool) -> None:
    lines = []
    for facts in (RICH, shirt(), hivis_jacket()):
        drawing = draw(care_rules.why(care_rules.parse_facts(facts)), Shop(fahrenheit=fahrenheit))
        lines += [line for strip in drawing.strips for line in strip_lines(strip)]
        lines += [f"{rule}" for rule in drawing.rules]
        lines.append(f"set aside {drawing.has_set_aside}")
    assert_approved(lines, APPROVED / f"why{'-fahrenheit' * fahrenheit}.txt")


def test_the_book_is_found_and_read_as_approved() -> None:
    lines = [f"{group.key} {group.title}: {count}" for group, count in book.groups()]
    for group, _count in book.groups():
        for under, entries in book.browse(group.key):
            lines.append(f"{group.key}, {under}: {len(entries)}, first {entries[0]}")
    for typed in ("wool", "  Red  wine ", "40", "blood", "dry flat", "zzz", " ", "iron hot", "a"):
        entries = book.search(typed)
        named = [f"{entry.group}/{entry.name}" for entry in entries[:8]]
        lines.append(f"searched {typed!r}: {len(entries)} {named}")
    keys = dict.fromkeys(
        entry.rule
        for group, _count in book.groups()
        for _under, entries in book.browse(group.key)
        for entry in entries[:1]
    )
    for key in keys:
        page = book.page(key, Shop())
        assert page is not None
        lines += [
            f"{page.name} {page.care} {page.level} {page.status} {page.group and page.group.key}",
            *(f"  limit {limit}" for limit in page.limits),
            *(f"  detail {detail}" for detail in page.details),
            *(f"  note {note}" for note in page.notes),
            *(f"  leads to {link.rule} {link.name} {link.care}" for link in page.leads_to),
            *(f"  reading {reading}" for reading in page.readings),
            f"  try {page.try_it}",
        ]
    assert book.page("no.such", Shop()) is None
    assert_approved(lines, APPROVED / "book.txt")


def test_the_pages_are_as_approved(counter: Client) -> None:
    """The book, a search, an entry of three tables, and the try-out: empty, full and at fault."""
    entries = [
        f"/care/about/{rule}/" for rule in ("fibre.wool", "stain.red_wine", "label.iron_110")
    ]
    tried = {**SHIRT, "do": "look"}
    pages = [
        *((path, counter.get(path).content) for path in ("/care/", "/care/?q=wool", *entries)),
        ("/care/try/", counter.get("/care/try/").content),
        ("a shirt", counter.post("/care/try/", tried).content),
        ("half a shirt", counter.post("/care/try/", {**tried, "percent-0-0": "50"}).content),
    ]
    assert_approved(page_lines(pages), APPROVED / "pages.txt")
