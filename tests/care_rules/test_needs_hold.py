"""What must always hold of floors: a restriction never drops a need nor lowers it.

The metamorphic pairs of test_must_hold, for pieces that carry a soil or a pest. A need may change
its way (a dryer that a new limit forbids gives place to the freezer), never fall away; where the
piece is refused nothing is done, so nothing is needed.
"""

from __future__ import annotations

import copy
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from care_rules import decide_json
from tests.care_rules.builders import piece
from tests.care_rules.severity import loosened
from tests.care_rules.strategies import HAZARDS, QUICK, SYMBOLS, facts
from tests.care_rules.test_must_hold import PICK, STRICTER, add_restriction

SOILED = (
    "body.blood", "body.vomit_faeces", "body.norovirus_house", "pest.field", "fr.workwear",
    "bedbug.seen", "moth", "scabies_lice", "mould",
)  # fmt: skip

Need = dict[tuple[str, str], int | None]


def soiled(facts: dict[str, Any], pick: int) -> dict[str, Any]:
    """The piece with one soil or pest that asks for something, to be cleaned."""
    hazard = SOILED[pick % len(SOILED)]
    hazards = [key for key in facts["hazards"] if key in SOILED]
    return facts | {"hazards": sorted({*hazards, hazard}), "services": ["clean"]}


def needed(decision: dict[str, Any]) -> Need:
    return {(need["key"], need["what"]): need["value"] for need in decision["needs"]}


def dropped(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """What was needed before and is no more, or less."""
    if after["outcome"] == "decline":
        return []
    old, new = needed(before), needed(after)
    faults = []
    for (hazard, what), value in old.items():
        if (hazard, what) not in new:
            if what != "heat_first" or (hazard, "freeze") not in new:
                faults.append(f"{hazard} {what}")
        elif value is not None and (new[hazard, what] or 0) < value:
            faults.append(f"{hazard} {what} lower")
    return faults


def missing_holds(decision: dict[str, Any]) -> list[str]:
    """Needs of heat that nobody meets and nobody is asked about."""
    held = {
        reason
        for caution in decision["cautions"]
        if caution["level"] in ("hold", "refuse")
        for reason in caution["because"]
    }
    return [
        need["key"] for need in decision["needs"] if not need["met"] and need["key"] not in held
    ]


@QUICK
@given(facts(), st.integers(0, 5), PICK, PICK)
def test_a_restriction_never_drops_a_need(
    garment: dict[str, Any], where: int, pick: int, soil: int
) -> None:
    dirty = soiled(garment, soil)
    before, after = decide_json(dirty), decide_json(add_restriction(dirty, where, pick))
    assert dropped(before, after) == []
    assert loosened(before, after) == []


@QUICK
@given(facts(), PICK, PICK, PICK, PICK)
def test_a_stricter_symbol_never_drops_a_need(
    garment: dict[str, Any], chain: int, first: int, second: int, soil: int
) -> None:
    dirty = soiled(garment, soil)
    symbols = STRICTER[chain % len(STRICTER)]
    low, high = sorted((first % len(symbols), second % len(symbols)))
    group = next(name for name, members in SYMBOLS.items() if symbols[0] in members)
    others = [key for key in dirty["label"]["symbols"] if key not in SYMBOLS[group]]

    def decided(symbol: str) -> dict[str, Any]:
        return decide_json(dirty | {"label": dirty["label"] | {"symbols": [*others, symbol]}})

    assert dropped(decided(symbols[low]), decided(symbols[high])) == []


@QUICK
@given(facts(), PICK, st.sampled_from(SOILED))
def test_a_second_soil_never_drops_what_the_first_needs(
    garment: dict[str, Any], soil: int, second: str
) -> None:
    dirty = soiled(garment, soil)
    worse = copy.deepcopy(dirty)
    worse["hazards"].append(second)
    assert dropped(decide_json(dirty), decide_json(worse)) == []


@QUICK
@given(facts(), PICK)
def test_a_need_that_nobody_meets_is_asked_about(garment: dict[str, Any], soil: int) -> None:
    assert missing_holds(decide_json(soiled(garment, soil))) == []


def test_each_soil_asks_for_something_and_stands_in_the_tables() -> None:
    whites = piece("cotton", "wash_95 bleach_any tumble_normal iron_200 no_dry_clean")
    assert set(SOILED) <= set(HAZARDS)
    assert [soil for soil in SOILED if not decide_json(whites | {"hazards": [soil]})["needs"]] == []
    assert dropped(decide_json(whites | {"hazards": ["pest.field"]}), decide_json(whites)) == [
        "pest.field wash_min_c",
        "pest.field wash_times",
        "pest.field isolate",
    ]
