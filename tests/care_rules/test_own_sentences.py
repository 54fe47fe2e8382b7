"""The figures that a fibre's own sentence names, held against what is decided for a piece of it.

A figure stands in its cell and in the sentence that people read; whoever moves one moves both.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from care_rules import catalogue, decide_json, rule
from tests.care_rules.builders import piece
from tests.care_rules.severity import flat, strictness
from tests.care_rules.test_second_hand import ALLOWING_ALL

FIBRES = [entry.key for entry in catalogue.fibres() if entry.key != "asbestos"]

#: What a sentence may say of a treatment, limit path and value.
PHRASES: list[tuple[str, str, Any]] = [
    (r" very mildly at ", "wash.action", "very_mild"), (r" mildly at ", "wash.action", "mild"),
    (r"with oxygen only", "bleach", "oxygen"), (r"tumble (it|them) low", "tumble", "low"),
    (r"without steam", "iron.steam", False),
    (r"hydrocarbon solvent only", "dry_clean.solvents", ["F"]),
    (r"dry clean (it|them) (very gently )?only if", "dry_clean.solvents", []),
    (r"[Nn]ever wash\b", "wash.max_c", 0), (r"[Nn]ever .*\bbleach\b", "bleach", "none"),
    (r"[Nn]ever .*\btumble\b", "tumble", "none"), (r"[Nn]ever .*\biron\b", "iron.max_c", 0),
    (r"[Nn]ever .*\bsteam\b", "iron.steam", False),
    (r"[Nn]ever .*\bdry clean\b", "dry_clean.solvents", []),
]  # fmt: skip


def said(fibre: str) -> dict[str, Any]:
    """Limit path to the value that the first sentence of the fibre names."""
    sentence = rule(f"fibre.{fibre}").says.partition(". ")[0]
    limits: dict[str, Any] = {}
    for words, path in (("Wash", "wash.max_c"), ("iron", "iron.max_c")):
        if figure := re.search(rf"{words} [^;,]*?at (\d+) °C", sentence):
            limits[path] = int(figure[1])
    for phrase, path, value in PHRASES:
        if re.search(phrase, sentence):
            limits.setdefault(path, value)
    return limits


def gives_way(decision: dict[str, Any], fibre: str) -> bool:
    """Whether the label is followed where the fibre is often treated more gently."""
    return any(
        f"fibre.{fibre}" in caution["because"]
        for caution in decision["cautions"]
        if caution["key"] == "label.followed"
    )


@pytest.mark.parametrize("fibre", FIBRES)
def test_no_decision_is_looser_than_the_sentence_of_its_fibre(fibre: str) -> None:
    limits = said(fibre)
    assert "wash.max_c" in limits
    allowed = decide_json(piece(fibre, construction="woven", label=ALLOWING_ALL))
    silent = flat(decide_json(piece(fibre, construction="woven")))
    for path, value in limits.items():
        assert strictness(path, silent[path]) >= strictness(path, value), path
        if not gives_way(allowed, fibre):
            assert flat(allowed)[path] == value, path


def test_only_what_a_label_rightly_exceeds_gives_way_to_it() -> None:
    """Typed by hand from practice: stretch, fillings, soft synthetics, makers' own finishes,
    linings, antistatic threads, and what is sewn on and tried in the solvent first."""
    yielding = {
        fibre
        for fibre in FIBRES
        if gives_way(decide_json(piece(fibre, construction="woven", label=ALLOWING_ALL)), fibre)
    }
    assert yielding == {
        "elastane", "elastomultiester", "polyamide", "down", "feather", "polyester_wadding",
        "cotton_wadding", "half_linen", "membrane_laminate", "acrylic", "modal", "lyocell",
        "cotton_easy_care", "cupro", "carbon_fibre", "beads_plastic", "sequins",
    }  # fmt: skip


TRIMS = [entry.key for entry in catalogue.trims() if entry.key != "fur_trim"]


@pytest.mark.parametrize("label", [ALLOWING_ALL, {"state": "missing"}], ids=["open", "missing"])
@pytest.mark.parametrize("given", [*FIBRES, *(f"trim {trim}" for trim in TRIMS)])
def test_a_gentle_bath_spins_gently_and_is_gentle_in_wet_cleaning_too(
    given: str, label: dict[str, Any]
) -> None:
    """ISO 3758 public parts: a bar under the tub stands for less movement and less spinning."""
    fibre, _, trim = given.partition(" ")
    trims = [trim] if trim else []
    fibre = "cotton" if trim else fibre
    facts = piece(fibre, construction="woven", label=label, trims=trims)
    limits = flat(decide_json(facts))
    assert limits["wash.action"] == "normal" or limits["wash.spin"] != "normal"
    wet, wash = "wet_clean.action", "wash.action"
    assert strictness(wet, limits[wet]) >= strictness(wash, limits[wash])
