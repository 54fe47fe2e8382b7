"""The words that keep people safe, typed by hand: they stay however short a decision becomes.

Sources from memory: OSHA's bloodborne pathogens rule (gloves, leak-proof bag, no pocket searched
by hand), product safety sheets of spotters (gloves, goggles, air), laundry fire guidance
(cool-down, lint, oily cloth never in a heap).
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules.builders import piece

FULL = "wash_60 bleach_any tumble_normal iron_200 dry_clean_p"

SAID: list[tuple[str, dict[str, Any], list[str]]] = [
    ("a needle in a pocket", {"kind": "trousers_chino"}, ["pockets with a tool"]),
    ("blood", {"hazards": ["body.blood"]}, ["gloves", "leak-proof", "wash your hands", "shake"]),
    ("vomit", {"hazards": ["body.vomit_faeces"]}, ["gloves", "cold water first"]),
    ("a rust remover", {"stains": ["rust"]},
     ["hydrofluoric", "gloves", "goggles", "calcium gluconate", "doctor at once"]),
    ("a solvent spotter", {"stains": ["motor oil, grease"]}, ["gloves", "goggles", "extraction"]),
    ("oil that heats itself", {"stains": ["cooking oil"]},
     ["catch fire", "dryer", "smells", "never leave it stacked"]),
    ("drying oil", {"hazards": ["fire.drying_oil"]}, ["outdoors", "under water", "metal can"]),
    ("fuel", {"hazards": ["fire.fuel_clothes"]}, ["ignite", "outdoors", "overnight"]),
    ("a warm drum", {}, ["lint screen clean", "cool before folding"]),
    ("a lithium cell", {"hazards": ["fire.battery"]}, ["every battery out", "flames"]),
    ("pesticide", {"hazards": ["pest.field"]}, ["gloves", "empty drum hot"]),
    ("asbestos", {"hazards": ["dust.asbestos"]}, ["sealed", "licensed firm"]),
    ("mould", {"hazards": ["mould"]}, ["gloves and a mask", "outdoors"]),
    ("foam rubber", {"trims": ["foam_bonded"]}, ["catch fire", "never with heat"]),
    ("a pin left inside", {"work": ["dress_side_take_in"]}, ["count the pins", "magnet"]),
    ("a small child's button", {"wearer": "under_3", "damage": ["loose_button"]},
     ["choke", "pull-test"]),
    ("flame-resistant workwear", {"hazards": ["fr.workwear"]}, ["must not be worn", "softener"]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "facts", "words"), SAID, ids=[name for name, _, _ in SAID])
def test_the_words_of_safety_are_said(name: str, facts: dict[str, Any], words: list[str]) -> None:
    decision = decide_json(piece("cotton", FULL, **facts))
    said = [step["says"] for step in decision["steps"]]
    for caution in decision["cautions"]:
        said += [caution["says"], caution["do"]]
    every = " ".join(said).casefold()
    assert [word for word in words if word not in every] == []
