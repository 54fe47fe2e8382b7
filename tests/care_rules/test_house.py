"""House rules only ever make a decision stricter, and name themselves wherever they decide."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_rules import (
    EVERY_PIECE,
    FactsError,
    HouseRule,
    check_house_rule,
    decide_json,
    liftable,
    parse_facts,
    rule,
    why,
)
from care_rules.limits import AXES, strictest, value_at
from tests.care_rules.builders import keys, piece
from tests.care_rules.severity import flat, loosened
from tests.care_rules.strategies import FIBRES, HEAVY, KINDS, QUICK, STAINS, facts

NO_DRYER = HouseRule(
    "house.wool-no-dryer", "fibre.wool", "a cardigan felted", limits="tumble=none; wash.max_c=20"
)
NO_FUR = HouseRule(
    "house.no-blood",
    "stain.blood",
    "no separate sink",
    level="refuse",
    says="The house takes in nothing with blood on it.",
    do="Name a laundry that does.",
)


def faults_of(**changes: str) -> list[tuple[str, object, str]]:
    given_rule = {"key": "house.test", "about": "fibre.wool", "reason": "so"} | changes
    with pytest.raises(FactsError) as refused:
        check_house_rule(HouseRule(**given_rule))
    return [(fault.field, fault.value, fault.cure) for fault in refused.value.faults]


def test_a_house_rule_lowers_a_limit_and_stands_among_the_reasons() -> None:
    decision = decide_json(piece("wool", "wash_40 iron_150 tumble_low"), [NO_DRYER])
    assert decision["limits"]["wash"]["max_c"] == 20
    assert decision["because"]["wash.max_c"] == ["house.wool-no-dryer"]
    row = rule("house.wool-no-dryer", [NO_DRYER])
    assert row.source == "house rule: a cardigan felted"
    assert (row.status, row.strength) == ("practice", "physical")
    assert row.limits == (("tumble", "none", "physical"), ("wash.max_c", "20", "physical"))


def test_a_house_key_is_unknown_without_the_house_rules() -> None:
    with pytest.raises(KeyError):
        rule("house.wool-no-dryer")


def test_a_decision_says_that_a_house_rule_was_used_and_which_set() -> None:
    plain = decide_json(piece("wool", "wash_40"))
    ruled = decide_json(piece("wool", "wash_40"), [NO_DRYER])
    head, _, mark = ruled["tables"].partition("+house-")
    assert head == plain["tables"]
    assert len(mark) == 8
    other = HouseRule(NO_DRYER.key, NO_DRYER.about, NO_DRYER.reason, limits="wash.max_c=25")
    assert decide_json(piece("wool", "wash_40"), [other])["tables"] != ruled["tables"]


def test_a_rule_about_another_fibre_changes_nothing_at_all() -> None:
    cotton = piece("cotton", "wash_60 iron_200")
    assert decide_json(cotton, [NO_DRYER, NO_FUR]) == decide_json(cotton)


def test_a_house_refusal_declines_the_piece_in_the_house_s_words() -> None:
    decision = decide_json(piece("cotton", "wash_60", stains=["blood"]), [NO_FUR])
    assert decision["outcome"] == "decline"
    [refusal] = [c for c in decision["cautions"] if c["level"] == "refuse"]
    assert refusal["key"] == "house.no-blood"
    assert refusal["says"] == "The house takes in nothing with blood on it."
    assert refusal["do"] == "Name a laundry that does."
    assert refusal["because"] == ["house.no-blood"]


def test_a_house_hold_waits_for_a_yes_by_name() -> None:
    hold = HouseRule("house.ask", EVERY_PIECE, "w", level="hold", says="Ask first.")
    facts = piece("cotton", "wash_60 iron_200 tumble_normal")
    assert decide_json(facts)["outcome"] == "accept"
    assert decide_json(facts, [hold])["outcome"] == "ask"
    assert decide_json({**facts, "accepted": ["house.ask"]}, [hold])["outcome"] == "accept"


def test_the_maker_s_finish_lifts_the_table_s_usual_limit_but_not_the_house_s() -> None:
    facts = piece("wool", "wash_40 iron_150", overrides=["fibre.wool"])
    assert decide_json(facts)["limits"]["wash"]["max_c"] == 40
    assert decide_json(facts, [NO_DRYER])["limits"]["wash"]["max_c"] == 20
    with pytest.raises(FactsError):
        decide_json({**facts, "overrides": ["house.wool-no-dryer"]}, [NO_DRYER])


def test_the_order_of_house_rules_does_not_matter() -> None:
    facts = piece("wool", "wash_40", stains=["blood"])
    assert decide_json(facts, [NO_DRYER, NO_FUR]) == decide_json(facts, [NO_FUR, NO_DRYER])


def test_a_looser_rule_is_refused_with_value_place_and_cure() -> None:
    assert faults_of(limits="wash.max_c=60") == [
        (
            "limits",
            "wash.max_c=60",
            "looser than fibre.wool, which allows wash.max_c=30 at most; "
            "a house rule may only be stricter: write that or less",
        )
    ]
    [(field, value, cure)] = faults_of(limits="tumble=none; bleach=any")
    assert (field, value) == ("limits", "bleach=any")
    assert cure.startswith("looser than fibre.wool, which allows bleach=none at most")


@pytest.mark.parametrize(
    ("changes", "field", "value"),
    [
        ({"about": "fibre.wol", "limits": "tumble=none"}, "about", "fibre.wol"),
        ({"about": "fire.lint", "limits": "tumble=none"}, "about", "fire.lint"),
        ({"limits": "tumble=sometimes"}, "limits", "tumble=sometimes"),
        ({"limits": "tumbling=none"}, "limits", "tumbling=none"),
        ({"limits": "tumble"}, "limits", "tumble"),
        ({"limits": "tumble=none@default"}, "limits", "tumble=none@default"),
        ({"about": EVERY_PIECE, "limits": "wash.max_c=95"}, "limits", "wash.max_c=95"),
        ({"limits": "tumble=none", "reason": " "}, "reason", " "),
        ({"limits": "tumble=none", "key": "fibre.wool"}, "key", "fibre.wool"),
        ({"limits": "tumble=none", "key": "house.Wool"}, "key", "house.Wool"),
        ({"level": "grave", "says": "x"}, "level", "grave"),
        ({"level": "hold"}, "says", ""),
        ({}, "limits", ""),
    ],
)
def test_a_rule_that_can_t_be_kept_names_its_fault(
    changes: dict[str, str], field: str, value: str
) -> None:
    [(at, held, cure)] = faults_of(**changes)
    assert (at, held) == (field, value)
    assert cure


def test_a_rule_as_strict_as_the_table_is_taken_since_it_can_t_be_lifted() -> None:
    check_house_rule(HouseRule("house.same", "fibre.wool", "so", limits="wash.max_c=30"))


def test_a_house_rule_may_forbid_a_treatment_altogether() -> None:
    ban = HouseRule("house.dry", EVERY_PIECE, "no plant", limits="dry_clean.solvents=none")
    check_house_rule(ban)
    decision = decide_json(piece("wool", "dry_clean_p"), [ban])
    assert decision["limits"]["dry_clean"]["solvents"] == []
    assert "house.dry" in decision["because"]["dry_clean.solvents"]


@st.composite
def house_rules(draw: st.DrawFn) -> list[HouseRule]:
    """Rules of any kind, with any value of any limit."""
    abouts = [EVERY_PIECE, *(f"fibre.{key}" for key in FIBRES[:40])]
    abouts += [f"kind.{key}" for key in KINDS[:20]] + [f"stain.{key}" for key in STAINS[:20]]
    abouts += ["colour.dark", "colour.white", "construction.knit"]
    rules = []
    for number in range(draw(st.integers(1, 3))):
        path = draw(st.sampled_from(AXES))
        value = value_at(path, draw(st.integers(0, strictest(path))))
        level = draw(st.sampled_from(["", "", "info", "caution", "hold", "refuse"]))
        about = draw(st.sampled_from([EVERY_PIECE, *abouts]))
        rules.append(HouseRule(f"house.r{number}", about, "drawn", f"{path}={value}", level, "x"))
    return rules


def check_only_stricter(facts: dict[str, Any], rules: list[HouseRule]) -> None:
    before, after = decide_json(facts), decide_json(facts, rules)
    assert loosened(before, after) == []
    every = [key for named in after["because"].values() for key in named]
    every += [key for step in after["steps"] for key in step["because"]]
    every += [key for c in after["cautions"] for key in [c["key"], *c["because"]]]
    for key in every:
        assert rule(key, rules).source


@QUICK
@given(facts(), house_rules())
def test_with_any_house_rules_nothing_is_looser(garment: dict[str, Any], rules: Any) -> None:
    check_only_stricter(garment, rules)


@pytest.mark.slow
@HEAVY
@given(facts(), house_rules())
def test_with_any_house_rules_nothing_is_looser_at_length(
    garment: dict[str, Any], rules: Any
) -> None:
    check_only_stricter(garment, rules)


@QUICK
@given(facts(), house_rules())
def test_the_marks_of_why_end_where_the_decision_ends(garment: dict[str, Any], rules: Any) -> None:
    decision = decide_json(garment, rules)
    rows = {row.path: row for row in why(parse_facts(garment), rules)}
    for path, keys_of in decision["because"].items():
        if path != "wash.allowed":
            deciding = {mark.key for mark in rows[path].marks if mark.decides}
            assert deciding == set(keys_of)
    decided = flat(decision)
    for row in rows.values():
        counted = [mark.place for mark in row.marks if not mark.set_aside]
        assert max(counted, default=0.0) == row.place
        shown = decided[row.path]
        text = ("".join(shown) or "none") if isinstance(shown, list) else str(shown)
        assert (text.lower() if isinstance(shown, bool) else text) == row.value


def test_a_mark_that_an_override_lifted_is_shown_as_set_aside() -> None:
    silent = {r.path: r for r in why(parse_facts(piece("cotton", "wash_60")))}
    rows = {r.path: r for r in why(parse_facts(piece("wool", "wash_40", overrides=["fibre.wool"])))}
    assert [m.key for m in silent["dry_clean.solvents"].marks] == ["label.not_stated.dry_clean"]
    marks = {m.key: m for m in rows["wash.max_c"].marks}
    assert marks["fibre.wool"].set_aside
    assert not marks["fibre.wool"].decides
    assert marks["label.wash_40"].decides
    assert rows["wash.max_c"].value == "40"


def test_what_an_owner_may_lift_is_what_holds_the_piece_below_its_label() -> None:
    wool = parse_facts(piece("wool", "wash_40 iron_150 tumble_low"))
    assert liftable(wool) == {"fibre.wool": ("wash.max_c", "wash.action", "wash.spin", "tumble")}
    assert liftable(parse_facts(piece("wool", None))) == {}
    assert liftable(parse_facts(piece("wool", "wash_30_very_mild no_tumble"))) == {}


def test_a_house_rule_s_caution_is_never_lost_to_another() -> None:
    decision = decide_json(piece("wool", "wash_40", stains=["blood"]), [NO_FUR])
    assert set(keys(decide_json(piece("wool", "wash_40", stains=["blood"])))) <= set(keys(decision))
