"""What a soil asks of the treatment: heat, repetition, cold, isolation; and who is told.

Floors: UK HSE laundry guidance (body fluids past 40 °C after a cold sluice); extension guides
on pesticide-soiled clothing (60 °C or hotter, two or three times); museum guidance on freezing
(-20 °C or colder for a week) and CDC advice on lice (54 °C), both from memory.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide, decide_json, parse_facts, read_decision
from tests.care_rules.builders import piece

HOT = "wash_60 no_bleach tumble_normal iron_200 no_dry_clean"
COOL = "wash_40 no_bleach tumble_low iron_150 no_dry_clean"


def needs(decision: dict[str, Any]) -> dict[str, tuple[int | None, bool]]:
    return {need["what"]: (need["value"], need["met"]) for need in decision["needs"]}


def holds(decision: dict[str, Any]) -> set[str]:
    return {c["key"] for c in decision["cautions"] if c["level"] == "hold"}


def settings_of(decision: dict[str, Any], step: str) -> list[dict[str, Any]]:
    return [s["settings"] for s in decision["steps"] if s["step"] == step]


@pytest.mark.parametrize("hazard", ["body.blood", "body.vomit_faeces"])
def test_body_fluids_go_cold_first_and_then_as_hot_as_the_cloth_stands(hazard: str) -> None:
    decision = decide_json(piece("cotton", HOT, hazards=[hazard]))
    assert needs(decision) == {"wash_min_c": (41, True), "isolate": (None, True)}
    order = [step["step"] for step in decision["steps"]]
    assert order[0] == "check"
    assert "gloves" in decision["steps"][0]["says"].casefold()
    (first,) = settings_of(decision, "pre_spot")
    assert (first["bath"], first["max_c"]) == ("first", 25)
    (main,) = settings_of(decision, "wash")
    assert (main["bath"], main["max_c"]) == ("main", 60)
    assert order.index("pre_spot") < order.index("wash")


def test_a_floor_that_the_cloth_does_not_reach_waits_for_a_named_yes_and_lifts_no_limit() -> None:
    decision = decide_json(piece("cotton", COOL, hazards=["body.blood"]))
    assert needs(decision)["wash_min_c"] == (41, False)
    assert "need.body_hot" in holds(decision)
    (asked,) = [c for c in decision["cautions"] if c["key"] == "need.body_hot"]
    assert "40 °C at most" in asked["says"]
    assert decision["limits"]["wash"]["max_c"] == 40
    accepted = decide_json(
        piece("cotton", COOL, hazards=["body.blood"], accepted=["need.body_hot", "body.blood"])
    )
    assert accepted["outcome"] == "accept"


def test_pesticide_is_washed_hot_and_twice_apart_from_all_else() -> None:
    decision = decide_json(piece("cotton", HOT, hazards=["pest.field"]))
    assert needs(decision) == {
        "wash_min_c": (60, True),
        "wash_times": (2, True),
        "isolate": (None, True),
    }
    assert settings_of(decision, "wash")[0]["times"] == 2
    assert decision["load"]["alone"] is True


def test_bed_bugs_meet_the_dryer_before_any_water_or_else_the_freezer() -> None:
    warm = decide_json(piece("cotton", HOT, hazards=["bedbug.seen"]))
    assert needs(warm)["heat_first"] == (None, True)
    order = [step["step"] for step in warm["steps"]]
    assert order.index("dry") < order.index("wash")
    cold = decide_json(
        piece("wool", "hand_wash no_bleach no_tumble iron_150 dry_clean_p", hazards=["bedbug.seen"])
    )
    assert needs(cold)["freeze"] == (168, True)
    assert {"hours": 168} in settings_of(cold, "check")
    assert next(step["step"] for step in cold["steps"]) == "check"


def test_moths_are_frozen_for_a_week_and_lice_want_54_degrees() -> None:
    wool = piece("wool", "hand_wash no_bleach no_tumble iron_150 dry_clean_p", hazards=["moth"])
    assert needs(decide_json(wool))["freeze"] == (168, True)
    assert needs(decide_json(piece("cotton", HOT, hazards=["scabies_lice"])))["wash_min_c"] == (
        54,
        True,
    )


def test_a_partner_who_gets_the_piece_is_told() -> None:
    suit = piece("wool", "no_wash no_bleach no_tumble iron_150 dry_clean_p", hazards=["body.blood"])
    decision = decide_json(suit)
    assert decision["where"] == "send_out"
    (away,) = [step for step in decision["steps"] if step["step"] == "send_out"]
    assert "Label the bag as contaminated." in away["says"]
    assert "blood or body fluid" in away["says"]


def test_a_hot_bath_is_not_met_by_solvent_nor_asked_of_a_partner_past_the_label() -> None:
    """Common practice, no source: a solvent is no hot bath, and no partner washes "do not wash"."""
    suit = piece("wool", "no_wash no_bleach no_tumble iron_150 dry_clean_p", hazards=["body.blood"])
    decision = decide_json(suit)
    assert needs(decision)["wash_min_c"] == (41, False)
    (asked,) = [c for c in decision["cautions"] if c["key"] == "need.body_hot"]
    assert (asked["level"], "washed as" in asked["do"]) == ("hold", False)
    (away,) = [step for step in decision["steps"] if step["step"] == "send_out"]
    assert "40 °C" not in away["says"]
    rug = decide_json(piece("wool", kind="rug_wool", hazards=["body.blood"]))
    assert (rug["specialist"], needs(rug)["wash_min_c"]) == ("carpet", (41, True))
    (away,) = [step for step in rug["steps"] if step["step"] == "send_out"]
    assert "above 40 °C" in away["says"]


@pytest.mark.parametrize(
    "hazard",
    ["dust.asbestos", "dust.lead", "pest.concentrate", "fire.fuel_clothes", "fire.drying_oil",
     "drug.residue"],
)  # fmt: skip
def test_a_refusal_offers_nothing_that_its_hazard_forbids(hazard: str) -> None:
    decision = decide_json(
        piece("wool", HOT, hazards=[hazard], stains=["red wine"], damage=["tear"])
    )
    assert (decision["outcome"], decision["process"]) == ("decline", "none")
    assert decision["steps"] == []
    assert decision["home"] == decision["needs"] == []
    spoken = {c["key"]: c["do"] for c in decision["cautions"] if c["do"]}
    assert set(spoken) == {hazard}
    assert "stain.red wine" in {c["key"] for c in decision["cautions"]}


def test_work_that_is_refused_is_asked_about_and_never_written_as_to_be_done() -> None:
    coat = piece("cotton", HOT, hazards=["child.drawstring_neck"], services=["clean", "alter"])
    decision = decide_json(coat)
    assert decision["outcome"] == "ask"
    assert "route.work_left_out" in holds(decision)
    assert "mend" not in [step["step"] for step in decision["steps"]]
    alone = decide_json({**coat, "services": ["alter"]})
    assert alone["outcome"] == "decline"


def test_advice_for_home_is_of_label_and_material_and_not_of_today() -> None:
    clean = decide_json(piece("cotton", HOT))
    soiled = decide_json(
        piece("cotton", HOT, stains=["blood"], damage=["tear"], hazards=["body.vomit_faeces"])
    )
    assert clean["home"] == soiled["home"]
    assert "60 °C" in clean["home"][0]
    fire = decide_json(piece("aramid", HOT, hazards=["fr.workwear"]))
    assert fire["home"] != decide_json(piece("aramid", HOT))["home"]


@pytest.mark.parametrize(
    ("fibre", "whom", "to"),
    [
        ("leather", "leather", "the leather specialist"),
        ("suede", "leather", "the leather specialist"),
        ("fur", "fur", "the fur specialist"),
        ("feather_trim", "conservator", "a textile conservator"),
    ],
)
def test_a_specialist_is_named_and_the_crew_is_told_whom(fibre: str, whom: str, to: str) -> None:
    decision = decide_json(piece(fibre))
    assert (decision["process"], decision["specialist"]) == ("specialist", whom)
    [bag] = [step["says"] for step in decision["steps"] if step["step"] == "send_out"]
    assert bag == f"Send it out to {to}."
    assert decide_json(piece("cotton", HOT))["specialist"] is None


def test_a_decision_with_needs_is_read_back_and_an_older_one_has_none() -> None:
    decision = decide(parse_facts(piece("cotton", HOT, hazards=["pest.field", "bedbug.seen"])))
    stored = decision.as_json()
    assert read_decision(stored) == decision
    older = dict(stored)
    for later in ("specialist", "needs", "home"):
        del older[later]
    read = read_decision(older)
    assert (read.specialist, read.needs, read.home) == (None, (), ())


@pytest.mark.parametrize(
    ("fibre", "kind"),
    [("silk", "blouse_light"), ("viscose", "dress_summer"), ("acetate", "other"),
     ("polyester", "wedding_gown"), ("polyester", "evening_dress")],
)  # fmt: skip
def test_a_delicate_piece_without_a_label_goes_by_hand_and_only_after_a_yes(
    fibre: str, kind: str
) -> None:
    """Extension advice on unlabelled silk and rayon: by hand or solvent, after a test (memory)."""
    decision = decide_json(piece(fibre, kind=kind))
    assert decision["outcome"] == "ask"
    assert "label.silent_on_delicate" in holds(decision)
    assert decision["process"] in ("hand_wash", "dry_clean", "wet_clean")
    labelled = decide_json(piece(fibre, "wash_30_mild no_bleach no_tumble iron_110 dry_clean_p"))
    assert (labelled["process"], labelled["outcome"]) == ("machine_wash", "accept")


@pytest.mark.parametrize(
    ("fibre", "trim"),
    [("silk", "velvet_cut_pile"), ("polyester", "coated"), ("wool", "canvas_tailored")],
)
def test_what_the_label_answers_is_not_asked(fibre: str, trim: str) -> None:
    """Common practice, no source: nobody is asked for the very way that the label names."""
    symbols = "wash_30_very_mild no_bleach no_tumble iron_110 dry_clean_p"
    named = decide_json(piece(fibre, symbols, trims=[trim]))
    silent = decide_json(piece(fibre, trims=[trim]))
    assert f"trim.{trim}" not in holds(named)
    assert f"trim.{trim}" in holds(silent)


@pytest.mark.parametrize("trim", ["lace", "embroidery_metallic", "old_or_degraded", "beads"])
def test_what_is_fragile_never_meets_a_machine_unless_its_own_label_says_so(trim: str) -> None:
    silent = decide_json(piece("cotton", trims=[trim]))
    assert silent["process"] != "machine_wash"
    labelled = decide_json(
        piece("cotton", "wash_30_very_mild no_bleach no_tumble no_iron dry_clean_p", trims=[trim])
    )
    assert labelled["limits"]["wash"]["hand_only"] is False
