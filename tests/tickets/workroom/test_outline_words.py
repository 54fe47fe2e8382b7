"""Marks on an outline in words, and the outline as pages draw it."""

from __future__ import annotations

import re

import pytest
from django.template import Context, Template

from tickets.workroom.marks import ConditionMark
from tickets.workroom.outlines import OUTLINES, outline_of
from tickets.workroom.wording import condition_words, place_words

WINE = ConditionMark("front", 76, 40, "Red wine")
INK = ConditionMark("back", 12, 101, "Ink")


@pytest.mark.parametrize(
    ("key", "side", "place", "words"),
    [
        ("shirt", "front", "left_cuff", "front, left cuff"),
        ("shirt", "back", "yoke", "back, yoke"),
        ("shirt", "front", None, "front"),
        ("shoes", "back", "right_heel", "soles, right heel"),
        ("curtain", "front", "heading", "front, heading"),
    ],
)
def test_a_place_is_said_with_its_side(key: str, side: str, place: str, words: str) -> None:
    assert place_words(OUTLINES[key], side, place) == words


@pytest.mark.parametrize(
    ("kind", "mark", "words"),
    [
        ("jacket_x", ConditionMark("front", 90, 20, "Tear"), "Tear, front, upper right"),
        ("suit_jacket", ConditionMark("front", 76, 63, "Ash"), "Ash, front, wearer's left chest"),
        ("shirt_cotton", ConditionMark("front", 60, 25, "Ink"), "Ink, front, collar"),
        ("shirt_cotton", ConditionMark("front", 2, 2, "Smell"), "Smell, front"),
        ("shirt_cotton", INK, "Ink, back, wearer's left cuff"),
    ],
)
def test_a_mark_is_said_with_its_place(kind: str, mark: ConditionMark, words: str) -> None:
    assert condition_words(outline_of(kind), mark) == words


def drawn(tag: str, *marks: ConditionMark) -> str:
    return Template(f"{{% load outlines %}}{{% {tag} %}}").render(Context({"marks": marks}))


def label(page: str) -> str:
    return re.findall(r'aria-label="([^"]*)"', page)[0].replace("&#x27;", "'")


def test_one_side_is_drawn_with_its_own_marks() -> None:
    page = drawn('outline "tshirt" "front" marks', WINE, INK)
    assert label(page) == "Red wine, front, wearer's left chest"
    assert 'viewBox="0 0 120.0 134.0"' in page
    assert re.findall(r'<circle class="([\w-]+)" cx="76.0" cy="40.0" r="([\d.]+)"', page) == [
        ("spot", "10.0"),
        ("spot-core", "3.6"),
    ]
    assert page.count("<circle") == 2
    paths = re.findall(r'<path class="(cut|cut-thin|cut-fold)" d="([^"]+)" />', page)
    assert [data for _look, data in paths] == [
        stroke.data for stroke in OUTLINES["tshirt"].front.strokes
    ]
    assert "<text" not in page


def test_both_sides_stand_side_by_side_with_their_words() -> None:
    page = drawn('outline_map "shirt_cotton" marks', WINE, INK)
    assert label(page) == "Red wine, front, wearer's left chest; Ink, back, wearer's left cuff"
    assert 'viewBox="0 0 248.0 154.0"' in page
    assert re.findall(r">(\w+)</text>", page) == ["front", "back"]
    assert re.findall(r"translate\(([\d.]+) 0\)", page) == ["0.0", "128.0"]
    first, second = page.split("translate(128.0 0)")
    assert (first.count("spot-core"), second.count("spot-core")) == (1, 1)


def test_without_a_mark_the_kind_and_the_side_are_said() -> None:
    assert label(drawn('outline "shirt_cotton" "back"')) == "Cotton shirt, back"
    assert label(drawn('outline_map "tie"')) == "Tie, front and back"


def test_what_was_seen_is_no_markup() -> None:
    page = drawn('outline "tie" "front" marks', ConditionMark("front", 60, 60, '"><b>'))
    assert "<b>" not in page
    assert 'aria-label="&quot;&gt;&lt;b&gt;, front, blade"' in page


def test_a_drawing_holds_no_colour_of_its_own() -> None:
    assert re.findall(r"(?:fill|stroke|style)=", drawn('outline_map "duvet_king"')) == []
