"""How much a whole decision says: short, each thing once, and in the order of its weight.

What is counted is what a person reads: ``says`` and ``do`` of steps and cautions, and the card
for home. The bound is a house rule (common practice, no source).
"""

from __future__ import annotations

import re
from collections import Counter
from statistics import median
from typing import Any

import pytest

from care_rules import decide_json
from care_rules.tables import book
from tests.care_rules.builders import piece
from tests.care_rules.severity import ORDER
from tests.care_rules.test_more_cases import read
from tests.care_rules.test_ordinary import CASES
from tests.care_rules.test_worked_pieces import PIECES

ORDINARY = [case[1] for case in CASES]
WORKED = [facts for _name, facts, _wanted, _source in PIECES]
EVERY = ORDINARY + WORKED + [facts for _name, facts, _wanted in read()]


def sentences(decision: dict[str, Any]) -> list[str]:
    said = [step["says"] for step in decision["steps"]]
    for caution in decision["cautions"]:
        said += [caution["says"], caution["do"]]
    return [text for text in [*said, *decision["home"]] if text]


def number_of_words(decision: dict[str, Any]) -> int:
    return sum(len(text.split()) for text in sentences(decision))


@pytest.mark.parametrize(("pieces", "bound"), [(ORDINARY, 90), (WORKED, 90), (EVERY, 95)])
def test_a_whole_decision_stays_short(pieces: list[dict[str, Any]], bound: int) -> None:
    assert median(number_of_words(decide_json(facts)) for facts in pieces) < bound


def test_nothing_is_said_twice_to_the_crew() -> None:
    """The card for home speaks to somebody else, who reads none of the other sentences."""
    twice = Counter[str]()
    for facts in EVERY:
        decision = decide_json(facts | {"services": ["clean", "press"]})
        to_crew = sentences(decision | {"home": []})
        split = [part for text in to_crew for part in re.split(r"(?<=[.!?]) ", text)]
        twice.update(part for part, times in Counter(split).items() if times > 1)
    assert twice == {}


def test_a_sentence_is_a_sentence() -> None:
    for facts in EVERY:
        for text in sentences(decide_json(facts)):
            assert text[0] == text[0].upper(), text
            assert text.endswith("."), text
            assert "  " not in text


def test_cautions_stand_by_what_they_cost_and_then_by_station() -> None:
    """What hurts people stands before what ruins the piece, and that before a mark."""
    facts = piece("cotton", "wash_60 bleach_any tumble_normal iron_200 dry_clean_p",
                  stains=["red wine"], trims=["corduroy", "laminated_membrane"],
                  hazards=["mould"])  # fmt: skip
    cautions = [c for c in decide_json(facts)["cautions"] if c["level"] == "caution"]
    order = [c["key"] for c in cautions if not c["key"].startswith("label.")]
    assert order[0] == "mould"
    assert order[-1] == "stain.red wine"
    for facts in EVERY:
        levels = [ORDER["level"].index(c["level"]) for c in decide_json(facts)["cautions"]]
        assert levels == sorted(levels, reverse=True)


def test_no_first_aid_names_the_bottle_that_a_fibre_may_forbid() -> None:
    """The agents come from the limits; the first aid of a stain is what any cloth stands."""
    for row in book()["stains"].values():
        text = row.cells["first_aid"].casefold()
        assert "acetone" not in text
        assert "enzyme" not in text
        assert text.count(".") == 1
