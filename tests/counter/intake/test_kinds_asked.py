"""What a kind is asked, and by which words it is found: only what a napkin can have."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import QueryDict

from care_rules import catalogue
from counter.intake.choice_lists import FIBRES, KINDS, MIXES, mix_of, mixes_for
from counter.intake.faults import fault_of
from counter.intake.forms import addable_parts, read_piece
from counter.intake.inspection import inspection_faults, questions_left_out


@pytest.mark.parametrize(
    ("kind", "left_out"),
    [
        ("napkin", ("pockets", "fastenings")),
        ("rug_wool", ("pockets", "fastenings")),
        ("pillowcase", ("pockets",)),
        ("bathrobe_terry", ("fastenings",)),
        ("shirt_cotton", ()),
        ("suit_3piece", ()),
        ("", ()),
        ("no such kind", ()),
    ],
)
def test_a_kind_is_not_asked_for_what_it_cannot_have(kind: str, left_out: tuple[str, ...]) -> None:
    assert questions_left_out(kind) == left_out


@pytest.mark.parametrize(
    ("kind", "given", "open_fields"),
    [
        ("napkin", {"stains": "none", "damage": "none"}, []),
        ("napkin", {}, ["stains", "damage"]),
        ("napkin", {"stains": "none", "damage": "none", "pockets": "torn"}, ["pockets"]),
        ("jeans", {"stains": "none", "damage": "none"}, ["pockets", "fastenings"]),
        ("pillowcase", {"stains": "none", "damage": "none", "fastenings": "work"}, []),
    ],
)
def test_what_is_not_asked_needs_no_answer_and_a_wrong_one_is_still_wrong(
    kind: str, given: dict[str, Any], open_fields: list[str]
) -> None:
    faults = inspection_faults(given, {"kind": kind})
    assert [fault.field for fault in faults] == open_fields


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("sweater", "sweater_wool"), ("Pullover", "sweater_wool"), ("serviette", "napkin"),
        ("saree", "sari"), ("sneakers", "shoes_fabric"),
        ("teddy bear", "soft_toy"), ("backpack", "rucksack"), ("kilim", "rug_wool"),
        ("electric  blanket", "heated_blanket"), ("wool jumper", "sweater_wool"),
        ("hoody", "hoodie"), ("necktie", "tie"), ("mink coat", "coat_fur"), ("xyz", "xyz"),
    ],
)  # fmt: skip
def test_a_kind_is_found_by_what_people_call_it(typed: str, kind: str) -> None:
    assert KINDS.key(typed) == kind


def test_a_word_for_several_kinds_is_no_choice_but_names_them() -> None:
    for typed, names in (
        ("gown", {"evening dress", "wedding gown", "gown with a train"}),
        ("carpet", {"wool rug of two square metres", "cotton rug of two square metres"}),
        ("curtains", {"unlined curtain, a square metre", "lined curtain, a square metre"}),
    ):
        assert KINDS.key(typed) == typed
        assert len(names & set(KINDS.nearest(typed))) >= 2, KINDS.nearest(typed)


@pytest.mark.parametrize(
    ("typed", "count"),
    [("rug", 7), ("hat", 4), ("curtain", 2), ("Gown", 4), ("suit", 2), ("coat", 6)],
)
def test_a_plain_word_names_every_kind_that_holds_it(typed: str, count: int) -> None:
    names = KINDS.nearest(typed)
    assert len(names) >= count
    assert all(typed.lower() in name for name in names)


def test_the_usual_fibre_of_a_kind_is_offered_first() -> None:
    assert mixes_for("shell", "jeans")[0] == "stretch"
    assert mixes_for("shell", "coverall")[0] == "polycotton"
    assert mixes_for("shell", "napkin")[0] == "linen"
    assert mixes_for("shell", "coat_fur")[0] == "fur"
    assert mix_of("fur") == (("fur", 100),)
    assert mix_of("polycotton") == MIXES["polycotton"]
    assert mix_of("no such mix") == ()
    assert mixes_for("lining", "coat_fur")[0] == "polyester"
    assert mixes_for("shell", "") == mixes_for("shell", "other")
    for entry in catalogue.kinds():
        offered = mixes_for("shell", entry.key)
        assert len(set(offered)) == len(offered)
        assert all(mix_of(key) for key in offered)


def test_only_parts_that_a_kind_may_have_are_offered() -> None:
    assert addable_parts("napkin") == ["other"]
    assert addable_parts("suit_3piece") == ["lining", "other"]
    assert addable_parts("coat_down") == addable_parts("") == ["lining", "filling", "other"]


def test_a_share_typed_with_its_fibre_fills_both_fields() -> None:
    sent = QueryDict("part-0=shell&fibre-0-0=60 %25 cotton, 40 %25 linen&percent-0-0=")
    (part,) = read_piece(sent, "")["facts"]["components"]
    assert part["fibres"] == [
        {"fibre": "cotton", "percent": 60},
        {"fibre": "linen", "percent": 40},
    ]


def test_a_plain_word_at_the_counter_is_answered_with_names_and_never_with_keys() -> None:
    fault = fault_of("kind", "hat", "no such key; did you mean hat_felt?")
    assert fault.field == "kind"
    assert "felt hat" in fault.cure
    assert "hat_felt" not in f"{fault.says} {fault.cure}"


@pytest.mark.parametrize(
    ("typed", "name"),
    [("Baumwole", "cotton"), ("merrino", "wool"), ("vegan lether", "polyurethane")],
)
def test_a_misspelt_word_of_a_label_is_answered_with_the_fibre_it_means(
    typed: str, name: str
) -> None:
    fault = fault_of("components[0].fibres[0].fibre", typed, "no such key")
    assert name in fault.cure
    assert FIBRES.key(typed) == typed
