"""Advice for the customer, the line for a tag, and who may share a load."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given

from care_rules import decide_json, home_care, may_share_load, strongest_limits
from tests.care_rules.builders import piece
from tests.care_rules.strategies import QUICK, facts

SHIRT = "wash_60 bleach_any tumble_normal iron_200 dry_clean_p"
JUMPER = "wash_30_very_mild no_bleach no_tumble flat_dry iron_110 dry_clean_p"


def decided(fibres: str, symbols: str, **more: Any) -> dict[str, Any]:
    return decide_json(piece(fibres, symbols, **more))


def test_a_jumper_gets_advice_from_its_own_limits() -> None:
    """Common practice, no source: wool cool, no spin or tumble, dry flat, air rather than wash."""
    advice = home_care(decided("wool", JUMPER, colour="dark"))
    assert advice == [
        "Wash at 30 °C at most on the wool or silk programme. Spin it briefly. "
        "Wash it with like colours. Turn it inside out.",
        "Use no bleach.",
        "Do not tumble dry.",
        "Lay it flat to dry, out of the sun.",
        "Iron at 110 °C at most (one dot), without steam.",
        "Between wearings, air it and brush it; it seldom needs more.",
        "Put it away clean and fully dry, in breathable cloth; plastic holds damp.",
    ]


def test_plastic_comes_off_after_solvent_cleaning() -> None:
    """Common practice, no source."""
    advice = home_care(decided("wool", "no_wash iron_150 dry_clean_p"))
    assert "Have it dry cleaned; take the plastic cover off at once and let it air." in advice
    assert advice[0] == "Do not wash it at home."


PROMISES = ("disinfect", "safe", "guarantee", "will come out", "hygienic", "germ")


@QUICK
@given(facts())
def test_advice_and_tags_promise_nothing_and_stay_within_the_limits(one: dict[str, Any]) -> None:
    decision = decide_json(one)
    said = " ".join([*home_care(decision), *strongest_limits(decision)]).casefold()
    assert [word for word in PROMISES if word in said] == []
    limits = decision["limits"]
    if not limits["wash"]["allowed"]:
        assert "wash at" not in said
    if limits["bleach"] == "none" and decision["process"] != "specialist":
        assert "use no bleach" in said
    assert len(strongest_limits(decision)) <= 3


@QUICK
@given(facts())
def test_every_sentence_of_a_decision_promises_nothing(one: dict[str, Any]) -> None:
    decision = decide_json(one)
    said = " ".join(step["says"] for step in decision["steps"]).casefold()
    assert [word for word in PROMISES if word in said] == []


@pytest.mark.parametrize(
    ("fibres", "symbols", "expected"),
    [
        ("wool", JUMPER, ["Wash 30 °C very mild", "No tumble", "Iron 110 °C no steam"]),
        ("wool", "no_wash no_tumble iron_150 dry_clean_p", ["No wash", "No tumble", "Iron 150 °C"]),
        ("cotton", SHIRT, ["Wash 60 °C", "Tumble low"]),
        ("silk", "hand_wash no_tumble no_iron", ["Hand wash 30 °C", "No tumble", "No iron"]),
    ],
)
def test_a_tag_bears_the_strongest_limits_first(
    fibres: str, symbols: str, expected: list[str]
) -> None:
    assert strongest_limits(decided(fibres, symbols)) == expected


def test_like_pieces_share_a_load_at_the_gentler_programme() -> None:
    """Lowest temperature and mildest action: UK retail reproduction of care-code sorting advice."""
    mild = decided("cotton", "wash_40_mild no_bleach tumble_low iron_150")
    assert may_share_load(decided("cotton", SHIRT), mild) == (
        True, "Both may run at 40 °C, mild action, reduced spin, no bleach.",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("other", "why"),
    [
        (decided("cotton", SHIRT, colour="dark"),
         "Colours of the groups dark and white stay apart."),
        (decided("cotton", SHIRT, colour="unknown"), "The colour of one of them is not known."),
        (decided("cotton", SHIRT, stains=["blood"], accepted=["body.blood"]),
         "One of them must be washed alone."),
        (decided("cotton", SHIRT, stains=["blood"]),
         "A piece that waits for an answer, or is declined, goes into no load."),
        (decided("silk", "hand_wash"), "One goes to hand wash, the other to machine wash."),
        (decided("wool", "no_wash dry_clean_p"),
         "One goes to dry clean, the other to machine wash."),
    ],
)  # fmt: skip
def test_pieces_that_must_stay_apart_say_why(other: dict[str, Any], why: str) -> None:
    shirt = decided("cotton", SHIRT)
    assert may_share_load(shirt, other) == may_share_load(other, shirt) == (False, why)
