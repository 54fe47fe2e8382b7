"""Advice for the customer, the line for a tag, and who may share a load."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given

from care_rules import (
    Decision,
    IronLimit,
    decide_json,
    home_care,
    may_share_load,
    strongest_limits,
)
from care_rules.wording import HomeMaterial, crew_lines, home_advice, treatment_lines, value_words
from tests.care_rules import builders
from tests.care_rules.builders import piece
from tests.care_rules.strategies import QUICK, facts

SHIRT = "wash_60 bleach_any tumble_normal iron_200 dry_clean_p"
JUMPER = "wash_30_very_mild no_bleach no_tumble flat_dry iron_110 dry_clean_p"


def decided(fibres: str, symbols: str, **more: Any) -> Decision:
    return builders.decided(piece(fibres, symbols, **more))


def test_a_jumper_gets_advice_from_its_own_limits() -> None:
    """Common practice, no source: wool cool, no spin or tumble, dry flat, air rather than wash."""
    advice = home_care(decided("wool", JUMPER, colour="dark"))
    assert advice == [
        "Wash on the wool cycle up to 30 °C, with like colours, inside out.",
        "Use 40 ml wool detergent (hard water 60), no bleach.",
        "Dry flat in shade, never tumble.",
        "Iron on one dot, no steam.",
        "Air it rather than wash.",
    ]


@pytest.mark.parametrize(
    ("fibres", "symbols", "detergent"),
    [
        ("cotton", "wash_60 bleach_any", "75 ml heavy-duty detergent (hard water 110)."),
        ("cotton", "wash_60 no_bleach", "50 ml colour detergent (hard water 75), no bleach."),
        ("silk", "hand_wash no_bleach",
         "10 ml wool detergent (hard water 15) to 5 litres, no bleach."),
        ("cotton 70, wool 30", "wash_30_mild no_bleach",
         "40 ml wool detergent (hard water 60), no bleach."),
    ],
)  # fmt: skip
def test_the_detergent_suits_the_weakest_fibre_and_is_dosed_by_the_water(
    fibres: str, symbols: str, detergent: str
) -> None:
    """Enzymes attack wool and silk (extension advice, memory); doses: common practice."""
    assert home_care(decided(fibres, symbols))[1] == f"Use {detergent}"


@pytest.mark.parametrize(
    ("fibres", "airs"),
    [("wool", True), ("wool 80, polyamide 20", True), ("acrylic 70, wool 30", False),
     ("cotton", False), ("polyester", False), ("cashmere", True)],
)  # fmt: skip
def test_only_what_airs_well_is_aired_instead_of_washed(fibres: str, airs: bool) -> None:
    """Wool gives smell off to the air; cotton and synthetics hold it (wool care guides, memory)."""
    advice = home_care(decided(fibres, "wash_30_very_mild no_tumble iron_110"))
    assert ("Air it rather than wash." in advice) is airs


def test_plastic_comes_off_after_solvent_cleaning() -> None:
    """Common practice, no source."""
    advice = home_care(decided("wool", "no_wash iron_150 dry_clean_p"))
    assert "Have it dry cleaned; store it in cloth, not plastic." in advice
    assert advice[0] == "Do not wash."


PROMISES = ("disinfect", "safe", "guarantee", "will come out", "hygienic", "germ")


def advice_of(decision: Decision) -> tuple[str, ...]:
    """Advice drawn from the limits of this very decision, today's stains among them."""
    return home_advice(decision.process, decision.limits, decision.load, HomeMaterial())


@QUICK
@given(facts())
def test_advice_and_tags_promise_nothing_and_stay_within_the_limits(
    garment: dict[str, Any],
) -> None:
    decision = builders.decided(garment)
    said = " ".join([*advice_of(decision), *strongest_limits(decision)]).casefold()
    assert [word for word in PROMISES if word in said] == []
    limits = decision.limits
    if not limits.wash.allowed:
        assert "ml " not in said
    elif limits.bleach == "none" and decision.process != "specialist":
        assert "no bleach" in said
    assert len(strongest_limits(decision)) <= 3


@QUICK
@given(facts())
def test_every_sentence_of_a_decision_promises_nothing(garment: dict[str, Any]) -> None:
    decision = decide_json(garment)
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
def test_pieces_that_must_stay_apart_say_why(other: Decision, why: str) -> None:
    shirt = decided("cotton", SHIRT)
    assert may_share_load(shirt, other) == may_share_load(other, shirt) == (False, why)


@QUICK
@given(facts())
def test_the_voices_of_a_limit_agree(garment: dict[str, Any]) -> None:
    """What the crew must never do, the counter's table forbids and the customer is advised against,
    and nobody else does."""
    decision = builders.decided(garment)
    limits = decision.limits
    never = {line.paths[0].split(".")[0] for line in treatment_lines(limits) if line.never}
    closed = {line.path for line in crew_lines(limits) if line.closed}
    assert ("wash" in never) is ("wash.allowed" in closed) is not limits.wash.allowed
    assert ("bleach" in never) is (limits.bleach == "none")
    assert ("tumble" in never) is ("tumble" in closed) is (limits.tumble == "none")
    assert ("iron" in never) is ("iron.max_c" in closed) is (limits.iron.max_c == 0)
    assert ("wet_clean" in never) is ("wet_clean.allowed" in closed)
    assert ("dry_clean" in never) is (not limits.dry_clean.solvents)
    if decision.process == "specialist":
        return
    advice = advice_of(decision)
    assert ("Do not wash." in advice) is ("wash" in never)
    said = " ".join(advice)
    assert ("no bleach" in said) is ("bleach" in never and limits.wash.allowed)
    assert ("never tumble" in said.casefold()) is ("tumble" in never and limits.wash.allowed)
    assert any(line.startswith("Do not iron") for line in advice) is ("iron" in never)


def test_steam_that_is_allowed_is_forbidden_by_no_voice() -> None:
    """An iron may be forbidden where steam is not: the press station is sent to steam it."""
    steamed = builders.decided(piece("cotton", "wash_40 no_iron", services=["clean", "press"]))
    limits = replace(steamed.limits, iron=IronLimit(0, True, False, False))
    decision = replace(steamed, limits=limits)
    said = [line.says for line in crew_lines(limits)]
    assert "Never iron: steam without touching" in said
    assert "Never iron or press" not in said
    assert treatment_lines(limits)[4].words == "never; steam without touching"
    assert "Do not iron; steam it from a distance." in advice_of(decision)


@pytest.mark.parametrize(
    ("fahrenheit", "water", "sole"),
    [(False, "30 °C", "110 °C"), (True, "30 °C / 86 °F", "110 °C / 230 °F")],
)
def test_fahrenheit_stands_beside_celsius_where_asked(
    fahrenheit: bool, water: str, sole: str
) -> None:
    limits = decided("wool", JUMPER).limits
    said = [line.says for line in crew_lines(limits, fahrenheit=fahrenheit)]
    assert {f"Water never above {water}", f"Iron never above {sole}"} <= set(said)
    lines = {line.name: line.words for line in treatment_lines(limits, fahrenheit=fahrenheit)}
    assert lines["Wash"].startswith(f"at most {water}, very mild")
    assert lines["Iron"].startswith(f"at most {sole}, no steam")
    assert value_words("wash.max_c", "30", fahrenheit=fahrenheit) == f"at most {water}"
