"""Decisions are kept by their facts: a like garment costs a look-up, and changes nothing."""

from __future__ import annotations

from typing import Any

from hypothesis import given

from care_rules import HouseRule, decide, parse_facts, rule_on, speech
from care_rules.deciding import forget, work_out
from tests.care_rules.builders import decided, piece
from tests.care_rules.strategies import QUICK, facts

COOL = HouseRule("house.cool", "fibre.wool", "The machine runs hot.", "wash.max_c=20")
RICH = piece(
    "wool 80, polyamide 20",
    "wash_40 iron_150 dry_clean_p",
    stains=["red wine", "grass"],
    trims=["buttons_plastic"],
    work=["trouser_hem_plain"],
    services=["clean", "press", "alter"],
)


@QUICK
@given(facts())
def test_what_is_kept_is_what_would_be_worked_out(garment: dict[str, Any]) -> None:
    first = parse_facts(garment | {"id": "first"})
    second = parse_facts(garment | {"id": "second"})
    assert decide(first) == work_out(first)
    assert decide(second) == work_out(second)
    assert (decide(first).id, decide(second).id) == ("first", "second")


@QUICK
@given(facts())
def test_a_judgement_has_the_limits_the_outcome_and_the_keys_of_the_decision(
    garment: dict[str, Any],
) -> None:
    piece_facts = parse_facts(garment)
    ruling, decision = rule_on(piece_facts), work_out(piece_facts)
    assert ruling.outcome == decision.outcome
    assert (ruling.process.name, ruling.process.where) == (decision.process, decision.where)
    assert (ruling.limits, ruling.load) == (decision.limits, decision.load)
    assert ruling.because == decision.because
    levels = {caution.key: caution.level for caution in decision.cautions}
    assert ruling.caution_levels == levels


def test_a_judgement_sorts_by_the_house_rules_too() -> None:
    wool = parse_facts(piece("wool", "wash_30_very_mild"))
    plain, cool = rule_on(wool), rule_on(wool, [COOL])
    assert (plain.limits.wash.max_c, cool.limits.wash.max_c) == (30, 20)
    assert "house.cool" in cool.because["wash.max_c"]
    assert cool.tables.startswith(f"{plain.tables}+house-")


def test_a_label_read_once_says_the_same_to_the_next_piece() -> None:
    """What the fibres, stains and hazards of one piece add stays off the label it shares."""
    forget()
    label = "wash_40 iron_150 dry_clean_p"
    alone = decided(piece("polyester", label)).as_json()
    forget()
    decided(piece("wool", label, stains=["red wine"], trims=["sequins"], hazards=["bedbug.seen"]))
    assert decided(piece("polyester", label)).as_json() == alone


def test_a_house_rule_is_asked_each_time() -> None:
    wool = parse_facts(piece("wool", "wash_30_very_mild"))
    plain = decide(wool)
    assert decide(wool, [COOL]).limits.wash.max_c == 20
    assert decide(wool) == plain != decide(wool, [COOL])


def test_a_changed_copy_changes_no_later_decision() -> None:
    forget()
    before = decided(RICH).as_json()
    spoilt = decided(RICH).as_json()
    for step in spoilt["steps"]:
        for value in step["settings"].values():
            if isinstance(value, list):
                value.clear()
        step["settings"].clear()
        step["because"].clear()
    spoilt["cautions"].clear()
    spoilt["because"].clear()
    spoilt["limits"]["dry_clean"]["solvents"].clear()
    assert decided(RICH).as_json() == before
    assert [step["settings"] for step in before["steps"] if step["settings"].get("work")]


def test_each_language_keeps_its_own() -> None:
    english = speech.translation()
    plain = decided(RICH)
    try:
        speech.speak_through(lambda: "kept", lambda text: f"<{text}>")
        other = decided(RICH)
    finally:
        speech.speak_through(*english)
    assert other.steps[0].says == f"<{plain.steps[0].says}>"
    assert decided(RICH) == plain
