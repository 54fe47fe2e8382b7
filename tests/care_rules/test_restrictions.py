"""Every single restriction put on every ordinary garment: nothing loosens, nothing is overstepped.

Generated pieces are often so odd that they are declined; these are pieces that a shop accepts.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

import pytest

from care_rules import decide_json
from care_rules.vocabulary import DAMAGES
from tests.care_rules import oracle
from tests.care_rules.severity import loosened
from tests.care_rules.strategies import FIBRES, HAZARDS, STAINS, TRIMS
from tests.care_rules.test_must_hold import check_mixtures, check_reasons, within_limits
from tests.care_rules.test_ordinary import CASES


def restrictions(facts: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The piece with each fibre, trim, stain, damage and hazard added in turn."""

    def harder(field: str, item: Any) -> dict[str, Any]:
        return facts | {field: [*facts.get(field, []), item]}

    for fibre in FIBRES:
        yield harder("components", {"part": "lining", "fibres": [{"fibre": fibre}]})
        shell = copy.deepcopy(facts["components"])
        shell[0]["fibres"].append({"fibre": fibre})
        yield facts | {"components": shell}
    yield from (harder("trims", trim) for trim in TRIMS)
    yield from (harder("stains", {"stain": stain}) for stain in STAINS)
    yield from (harder("damage", damage) for damage in DAMAGES)
    yield from (harder("hazards", hazard) for hazard in HAZARDS)


def check(facts: dict[str, Any], stride: int, start: int) -> None:
    before = decide_json(facts)
    for number, harder in enumerate(restrictions(facts)):
        if (number + start) % stride:
            continue
        after = decide_json(harder)
        sums = {"composition.total", "composition.rounding"}
        cautions = [c for c in before["cautions"] if c["key"] not in sums]
        assert loosened(before | {"cautions": cautions}, after) == [], harder
        assert oracle.past_a_limit(harder, after) == [], harder
        assert oracle.too_warm_at_first(harder, after) == [], harder
        within_limits(after)
        check_reasons(harder)
        check_mixtures(harder)


@pytest.mark.parametrize("number", range(len(CASES)), ids=[case[0] for case in CASES])
def test_a_restriction_on_an_ordinary_garment_loosens_nothing(number: int) -> None:
    check(CASES[number][1], 37, number)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(CASES)), ids=[case[0] for case in CASES])
def test_no_restriction_at_all_on_an_ordinary_garment_loosens_anything(number: int) -> None:
    check(CASES[number][1], 1, 0)


@pytest.mark.parametrize("case", CASES, ids=[case[0] for case in CASES])
def test_an_ordinary_garment_is_treated_as_warm_as_its_rules_allow(case: Any) -> None:
    """Useful: where the label speaks of washing and ironing, no figure is lower than asked for."""
    facts = case[1]
    decision = decide_json(facts)
    if facts["label"].get("terms") or facts["label"]["state"] != "read":
        assert oracle.past_a_limit(facts, decision) == []
        return
    symbols = " ".join(facts["label"]["symbols"])
    if "wash" in symbols and "iron" in symbols and decision["process"] == "machine_wash":
        assert oracle.needlessly_strict(facts, decision) == []
    assert oracle.past_a_limit(facts, decision) == []
