"""What a readable label answers is not asked again; what it can't answer is, and is tried first.

Common practice, no source, but where a test names one.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules.builders import piece

SOLVENT = "no_wash no_bleach no_tumble iron_150 dry_clean_p"
NO_IRON = "no_wash no_bleach no_tumble no_iron dry_clean_p"


def levels(decision: dict[str, Any]) -> dict[str, str]:
    return {caution["key"]: caution["level"] for caution in decision["cautions"]}


def names(decision: dict[str, Any]) -> list[str]:
    return [step["step"] for step in decision["steps"]]


def test_a_tailored_suit_with_a_solvent_symbol_raises_no_alarm_and_keeps_its_pads() -> None:
    made = ["canvas_tailored", "shoulder_pads", "lining", "fused_interlining"]
    suit = decide_json(piece("wool", SOLVENT, kind="suit_2piece", trims=made))
    assert (suit["outcome"], suit["process"]) == ("accept", "dry_clean")
    assert set(levels(suit).values()) <= {"info"}
    assert "remove_trim" not in names(suit)
    silent = decide_json(piece("wool", kind="suit_2piece", trims=made))
    assert levels(silent)["trim.canvas_tailored"] == "hold"
    assert levels(silent)["trim.lining"] == "caution"
    assert "remove_trim" in names(silent)


def test_canvas_under_a_wash_symbol_stays_out_of_water_and_the_page_says_so() -> None:
    decision = decide_json(
        piece("wool", "wash_30_very_mild no_bleach dry_clean_p", trims=["canvas_tailored"])
    )
    assert decision["limits"]["wash"]["allowed"] is False
    assert levels(decision)["label.harsher_than_trim"] == "caution"


@pytest.mark.parametrize("trim", ["beads", "sequins", "print_hand_painted"])
def test_a_solvent_symbol_on_a_worked_piece_is_followed_after_a_test_and_a_yes(trim: str) -> None:
    """Trade care notes: one bead or disc is tried first (polystyrene dissolves in P)."""
    decision = decide_json(piece("silk", NO_IRON, services=["clean"], trims=[trim]))
    assert (decision["outcome"], decision["process"]) == ("ask", "dry_clean")
    assert levels(decision)[f"trim.{trim}"] == "hold"
    assert decision["limits"]["dry_clean"]["action"] == "very_mild"
    [away] = [step for step in decision["steps"] if step["step"] == "send_out"]
    assert "Hidden test first." in away["says"]
    assert f"trim.{trim}" in away["because"]
    here = {"wet_cleaning": False, "dry_cleaning": ["F", "P"], "send_out": []}
    order = names(decide_json(piece("silk", NO_IRON, trims=[trim], shop=here)))
    assert order.index("test") < order.index("wash")


@pytest.mark.parametrize("fibre", ["beads_plastic", "sequins"])
def test_plastic_sewn_on_is_asked_about_only_where_solvent_alone_is_left(fibre: str) -> None:
    """Polystyrene dissolves in perchloroethylene (trade care notes)."""
    sewn = [{"part": "trim", "fibres": [{"fibre": fibre}]}]

    def decided(symbols: str) -> dict[str, Any]:
        dress = piece("polyester", symbols, services=["clean"])
        return decide_json(dress | {"components": [*dress["components"], *sewn]})

    solvent = decided(NO_IRON)
    assert (solvent["outcome"], solvent["process"]) == ("ask", "dry_clean")
    assert levels(solvent)[f"fibre.{fibre}"] == "hold"
    assert "fibre." + fibre not in levels(decided("wash_30_very_mild no_bleach no_tumble no_iron"))
    barred = decided("no_wash no_bleach no_tumble no_iron no_dry_clean")
    assert (barred["outcome"], levels(barred)[f"fibre.{fibre}"]) == ("decline", "hold")


def test_pressing_that_the_label_forbids_is_asked_about_and_alone_is_declined() -> None:
    """Decision contract, point 15: asked work that is refused is left out only after a yes."""
    fleece = piece("polyester", "wash_40 no_bleach tumble_low no_iron", services=["clean", "press"])
    decision = decide_json(fleece)
    assert (decision["outcome"], levels(decision)["route.no_press"]) == ("ask", "hold")
    assert "press" not in names(decision)
    assert decide_json(fleece | {"services": ["clean"]})["outcome"] == "accept"
    assert decide_json(fleece | {"services": ["press"]})["outcome"] == "decline"
    steamed = piece("wool", SOLVENT, services=["clean", "press"], trims=["velvet_cut_pile"])
    assert "press" in names(decide_json(steamed))


def test_nobody_is_told_to_try_water_on_what_water_is_closed_to() -> None:
    old = decide_json(piece("silk", kind="evening_dress", trims=["old_or_degraded"]))
    assert old["specialist"] == "conservator"
    assert [c["key"] for c in old["cautions"] if "water on" in c["do"]] == []
    fresh = decide_json(piece("silk", kind="blouse_light"))
    assert [c["key"] for c in fresh["cautions"] if "water on" in c["do"]] == [
        "label.silent_on_delicate"
    ]


def test_perished_cloth_is_never_bleached() -> None:
    """Museum advice on old whites: no bleach weakens them further (memory)."""
    cloth: dict[str, Any] = {
        "kind": "tablecloth_150x250",
        "colour": "white",
        "label": {"state": "not_needed"},
    }
    assert decide_json(piece("linen", **cloth))["limits"]["bleach"] == "oxygen"
    old = decide_json(piece("linen", trims=["old_or_degraded"], **cloth))
    assert old["limits"]["bleach"] == "none"


def test_an_antistatic_thread_does_not_rule_a_coverall_against_its_label() -> None:
    """The oil of flame-resistant workwear is washed out at 60 °C (NFPA 2113, memory)."""
    coverall = piece("aramid", "wash_60 no_bleach tumble_low iron_150", hazards=["fr.workwear"])
    coverall["components"][0]["fibres"] = [
        {"fibre": "aramid", "percent": 98}, {"fibre": "carbon_fibre", "percent": 2},
    ]  # fmt: skip
    decision = decide_json(coverall)
    [need] = [need for need in decision["needs"] if need["what"] == "wash_min_c"]
    assert (need["value"], need["met"]) == (60, True)
    assert decision["limits"]["wash"]["max_c"] == 60
    assert (decision["limits"]["tumble"], decision["limits"]["bleach"]) == ("low", "none")
