"""A stored decision is read back as it was written, and nothing else is read as one."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given

from care_rules import (
    Decision,
    DecisionError,
    Facts,
    Label,
    decide,
    decide_json,
    parse_facts,
    read_decision,
    read_facts,
)
from care_rules.limits import AXES
from tests.care_rules.builders import piece
from tests.care_rules.strategies import QUICK, facts
from tests.care_rules.test_ordinary import CASES

FULL = "wash_60 bleach_any tumble_normal iron_200 dry_clean_p"


def rich() -> dict[str, Any]:
    """A decision with every kind of entry: settings with lists, cautions, reasons."""
    facts = piece(
        "wool",
        FULL,
        stains=["red wine", "grass"],
        trims=["buttons_plastic"],
        work=["trouser_hem_plain"],
        services=["clean", "press", "alter"],
    )
    return decide_json(facts)


@pytest.mark.parametrize("facts", [case[1] for case in CASES], ids=[case[0] for case in CASES])
def test_every_ordinary_decision_is_read_back_whole(facts: dict[str, Any]) -> None:
    decision = decide(parse_facts(facts))
    read = read_decision(json.loads(json.dumps(decision.as_json())))
    assert read == decision
    assert read.as_json() == decision.as_json()


@QUICK
@given(facts())
def test_any_decision_is_read_back_whole(garment: dict[str, Any]) -> None:
    decision = decide(parse_facts(garment))
    read = read_decision(json.loads(json.dumps(decision.as_json())))
    assert read == decision
    assert read.as_json() == decision.as_json()


def test_the_limits_are_read_into_their_types() -> None:
    decision: Decision = read_decision(decide_json(piece("wool", "wash_30_very_mild no_tumble")))
    wash, iron = decision.limits.wash, decision.limits.iron
    assert (wash.allowed, wash.max_c, wash.action, wash.hand_only) == (True, 30, "very_mild", False)
    assert (iron.max_c, decision.limits.tumble) == (150, "none")
    assert decision.load.colour_group == "white"
    assert decision.because["tumble"] == ("fibre.wool", "label.no_tumble")


def places(value: Any, path: str = "") -> list[str]:
    """Every field of a decision by its place, of its objects and of the first of each list."""
    if isinstance(value, list):
        return places(value[0], f"{path}[0]") if value and isinstance(value[0], dict) else []
    if not isinstance(value, dict):
        return []
    paths = []
    for name, inner in value.items():
        inside = f"{path}.{name}" if path else name
        paths += [inside, *places(inner, inside)]
    return paths


#: Objects whose fields may be there or not: settings by the step, reasons by what is limited.
_LOOSE = ("settings.", "because.")


def holder(decision: dict[str, Any], place: str) -> tuple[Any, str]:
    """The object that a place lies in, and the field's name there."""
    inside: Any = decision
    *way, last = place.replace("[0]", ".[0]").split(".")
    if place.startswith("because."):
        way, last = ["because"], place.removeprefix("because.")
    for name in way:
        inside = inside[0] if name == "[0]" else inside[name]
    return inside, last


FIELDS = places(rich())


def refused(change: Callable[[dict[str, Any]], None]) -> str:
    decision = copy.deepcopy(rich())
    change(decision)
    with pytest.raises(DecisionError) as raised:
        read_decision(decision)
    assert str(raised.value).startswith(raised.value.place)
    return raised.value.place


@pytest.mark.parametrize("place", [at for at in FIELDS if not any(loose in at for loose in _LOOSE)])
def test_a_missing_field_is_named_by_its_place(place: str) -> None:
    def without(decision: dict[str, Any]) -> None:
        inside, name = holder(decision, place)
        del inside[name]

    assert refused(without) == place


@pytest.mark.parametrize("place", FIELDS)
def test_a_value_of_another_kind_is_named_by_its_place(place: str) -> None:
    def odd(decision: dict[str, Any]) -> None:
        inside, name = holder(decision, place)
        inside[name] = 1.5

    assert refused(odd) == place


OBJECTS = [
    "",
    *(at for at in FIELDS if isinstance(holder(rich(), at)[0].get(holder(rich(), at)[1]), dict)),
]


@pytest.mark.parametrize("place", [*OBJECTS, "steps[0]", "cautions[0]"])
def test_an_unknown_field_is_named_by_its_place(place: str) -> None:
    inner = f"{place}.stray" if place else "stray"

    def with_more(decision: dict[str, Any]) -> None:
        inside, name = holder(decision, inner)
        inside[name] = "more"

    assert refused(with_more) == inner


@pytest.mark.parametrize(
    "place",
    [
        "outcome", "where", "limits.wash.action", "limits.wash.spin", "limits.bleach",
        "limits.tumble", "limits.dry_clean.action", "limits.wet_clean.action",
        "cautions[0].level", "cautions[0].scope",
    ],
)  # fmt: skip
def test_an_unknown_word_is_named_by_its_place(place: str) -> None:
    def odd(decision: dict[str, Any]) -> None:
        inside, name = holder(decision, place)
        inside[name] = "perhaps"

    assert refused(odd) == place


@pytest.mark.parametrize("solvents", [["F", "P"], ["X"], [1], ["P"]])
def test_solvents_are_a_set_of_the_contract(solvents: list[Any]) -> None:
    def odd(decision: dict[str, Any]) -> None:
        decision["limits"]["dry_clean"]["solvents"] = solvents

    assert refused(odd) == "limits.dry_clean.solvents"


@pytest.mark.parametrize("given_instead", [None, [], "decision", 1])
def test_what_is_no_object_is_no_decision(given_instead: Any) -> None:
    with pytest.raises(DecisionError, match="whole"):
        read_decision(given_instead)


def test_every_limit_may_have_reasons() -> None:
    decision = rich()
    decision["because"] = {path: ["label.state"] for path in (*AXES, "wash.allowed")}
    assert list(read_decision(decision).because) == [*AXES, "wash.allowed"]


@QUICK
@given(facts())
def test_stored_facts_are_read_as_they_were_told(garment: dict[str, Any]) -> None:
    parsed = parse_facts(garment)
    read = read_facts(json.loads(json.dumps(garment)))
    assert sorted(term.casefold() for term in read.label.terms) == sorted(parsed.label.terms)
    label = replace(parsed.label, terms=read.label.terms)
    services = parsed.services if garment["services"] else ()
    assert read == replace(parsed, label=label, services=services)


def test_shares_and_a_label_without_a_state_are_read_too() -> None:
    facts = piece("wool 80, polyamide 20", lining="viscose", services=["press"])
    facts["label"] = {"symbols": ["wash_40"]}
    assert read_facts(facts) == parse_facts(facts)
    assert read_facts(facts).components[0].fibres[0].percent == 80


def test_stored_facts_may_name_what_the_tables_have_dropped() -> None:
    stored = piece("cotton", "wash_40", trims=["a_trim_of_old"], stains=["a stain of old"])
    read = read_facts(stored)
    assert (read.trims, read.stains) == (("a_trim_of_old",), ("a stain of old",))
    assert read_facts({}) == Facts(label=Label(state=""), services=())


def in_need() -> dict[str, Any]:
    """A decision with needs and without one."""
    return decide_json(piece("cotton", FULL, hazards=["pest.field"]))


@pytest.mark.parametrize("what", ["perhaps", "", "wash"])
def test_an_unknown_need_is_named_by_its_place(what: str) -> None:
    decision = in_need()
    decision["needs"][0]["what"] = what
    with pytest.raises(DecisionError) as raised:
        read_decision(decision)
    assert raised.value.place == "needs[0].what"


@pytest.mark.parametrize("odd", ["40", 40.0, True, None, [40]])
def test_a_setting_of_another_kind_is_named_by_its_place(odd: Any) -> None:
    decision = rich()
    number, name = next(
        (at, name)
        for at, step in enumerate(decision["steps"])
        for name, value in step["settings"].items()
        if type(value) is int
    )
    decision["steps"][number]["settings"][name] = odd
    with pytest.raises(DecisionError) as raised:
        read_decision(decision)
    assert raised.value.place == f"steps[{number}].settings.{name}"


def test_odd_reasons_of_a_need_are_named_by_their_place() -> None:
    decision = in_need()
    decision["needs"][0]["because"] = [7]
    with pytest.raises(DecisionError) as raised:
        read_decision(decision)
    assert raised.value.place == "needs[0].because"
