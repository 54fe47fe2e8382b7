"""Generated facts for property tests, drawn from the same tables that the engine reads."""

from __future__ import annotations

import os
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from care_rules import catalogue
from care_rules import vocabulary as words

SYMBOLS: dict[str, list[str]] = {}
for _entry in catalogue.symbols():
    SYMBOLS.setdefault(_entry.group, []).append(_entry.key)
FIBRES = [entry.key for entry in catalogue.fibres()]
TRIMS = [entry.key for entry in catalogue.trims()]
STAINS = [entry.key for entry in catalogue.stains()]
HAZARDS = [entry.key for entry in catalogue.hazards()]
TERMS = [entry.key for entry in catalogue.terms()]
WORK = [entry.key for entry in catalogue.work()]
KINDS = [entry.key for entry in catalogue.kinds()]

QUICK = settings(
    max_examples=300, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
#: The slow set draws 4,000 pieces for each property; CARE_EXAMPLES=25000 draws 200,000 in all.
HEAVY = settings(
    max_examples=int(os.environ.get("CARE_EXAMPLES", "4000")),
    derandomize=True,  # the slow set gives the same answer each time; raise CARE_EXAMPLES to hunt
    deadline=None,
    suppress_health_check=list(HealthCheck),
)


def some(values: list[str], most: int) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from(values), max_size=most, unique=True)


@st.composite
def parts(draw: st.DrawFn) -> dict[str, Any]:
    fibres = draw(st.lists(st.sampled_from(FIBRES), min_size=1, max_size=3, unique=True))
    return {
        "part": draw(st.sampled_from(words.PARTS)),
        "fibres": [{"fibre": fibre} for fibre in fibres],
    }


@st.composite
def labels(draw: st.DrawFn) -> dict[str, Any]:
    symbols = []
    for group in words.GROUPS:
        symbols += draw(some(SYMBOLS[group], 2 if draw(st.integers(0, 9)) == 0 else 1))
    return {
        "state": draw(st.sampled_from(["read", "read", "read", *words.LABEL_STATES])),
        "edition": draw(st.sampled_from(words.EDITIONS)),
        "market": draw(st.sampled_from(words.MARKETS)),
        "symbols": draw(st.permutations(symbols)),
        "terms": draw(some(TERMS, 1)),
    }


SHOPS = st.fixed_dictionaries(
    {
        "wet_cleaning": st.booleans(),
        "dry_cleaning": some(["P", "F"], 2),
        "send_out": some(["dry_clean", "wet_clean", "leather"], 3),
    }
)


@st.composite
def facts(draw: st.DrawFn) -> dict[str, Any]:
    """A whole piece: odd ones too, since a counter meets those."""
    return {
        "id": "generated",
        "kind": draw(st.sampled_from(KINDS)),
        "construction": draw(st.sampled_from(words.CONSTRUCTIONS)),
        "colour": draw(st.sampled_from(words.COLOURS)),
        "colour_tested": draw(st.booleans()),
        "components": draw(st.lists(parts(), min_size=1, max_size=3)),
        "label": draw(labels()),
        "trims": draw(some(TRIMS, 2)),
        "stains": [{"stain": stain} for stain in draw(some(STAINS, 3))],
        "damage": draw(some(list(words.DAMAGES), 2)),
        "hazards": draw(some(HAZARDS, 1)),
        "services": draw(some(list(words.SERVICES), 4)),
        "work": draw(some(WORK, 2)),
        "wearer": draw(st.sampled_from(words.WEARERS)),
        "shop": draw(SHOPS),
        "accepted": [],
    }
