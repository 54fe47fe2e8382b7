"""Generated facts for property tests, drawn from the same tables that the engine reads.

A piece is read off a row of bytes: one draw for Hypothesis instead of a hundred, which makes
hundreds of thousands of pieces affordable, and it still shrinks, since bytes of nought stand for
the first choice and for empty lists.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Any, TypeVar

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from care_rules import catalogue
from care_rules import vocabulary as words
from tests.examples import examples

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

QUICK = examples(300, derandomize=True, suppress_health_check=list(HealthCheck))
#: Pieces for each property of the slow set. Nine properties draw from it: 202,500 pieces in all.
EACH = int(os.environ.get("CARE_EXAMPLES", "22500"))
HEAVY = settings(
    max_examples=EACH,
    derandomize=True,  # the slow set gives the same answer each time; raise CARE_EXAMPLES to hunt
    database=None,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)

_Item = TypeVar("_Item")
#: More bytes than any piece takes.
_LENGTH = 96


class _Bytes:
    """Choices made by the bytes of a row, one after the other."""

    def __init__(self, row: bytes) -> None:
        self.row, self.at = row, 0

    def number(self, below: int) -> int:
        value = self.row[self.at]
        self.at += 1
        return value % below

    def one(self, values: Sequence[_Item]) -> _Item:
        return values[self.number(len(values))]

    def some(self, values: Sequence[_Item], most: int, least: int = 0) -> list[_Item]:
        """From ``least`` to ``most`` different values."""
        count = least + self.number(most - least + 1)
        return list(dict.fromkeys(self.one(values) for _ in range(count)))

    def shuffled(self, values: Sequence[_Item]) -> list[_Item]:
        left, drawn = list(values), []
        while left:
            drawn.append(left.pop(self.number(len(left))))
        return drawn


def _part(draw: _Bytes) -> dict[str, Any]:
    part = draw.one(words.PARTS)
    return {"part": part, "fibres": [{"fibre": f} for f in draw.some(FIBRES, 3, 1)]}


def _label(draw: _Bytes) -> dict[str, Any]:
    symbols: list[str] = []
    for group in words.GROUPS:
        symbols += draw.some(SYMBOLS[group], 2 if draw.number(10) == 9 else 1)
    return {
        "state": draw.one(["read", "read", "read", *words.LABEL_STATES]),
        "edition": draw.one(words.EDITIONS),
        "market": draw.one(words.MARKETS),
        "symbols": draw.shuffled(symbols),
        "terms": draw.some(TERMS, 1),
    }


def piece_from(row: bytes) -> dict[str, Any]:
    """A whole piece: odd ones too, since a counter meets those."""
    draw = _Bytes(row)
    return {
        "id": "generated",
        "kind": draw.one(KINDS),
        "construction": draw.one(words.CONSTRUCTIONS),
        "colour": draw.one(words.COLOURS),
        "colour_tested": draw.number(2) == 1,
        "components": [_part(draw) for _ in range(1 + draw.number(3))],
        "label": _label(draw),
        "trims": draw.some(TRIMS, 2),
        "stains": [{"stain": stain} for stain in draw.some(STAINS, 3)],
        "damage": draw.some(words.DAMAGES, 2),
        "hazards": draw.some(HAZARDS, 1 if draw.number(4) == 3 else 0),
        "services": draw.some(words.SERVICES, 4),
        "work": draw.some(WORK, 2),
        "wearer": draw.one(words.WEARERS),
        "shop": {
            "wet_cleaning": draw.number(2) == 1,
            "dry_cleaning": draw.some(["P", "F"], 2),
            "send_out": draw.some(words.SEND_OUT, 3),
        },
        "accepted": [],
    }


def facts() -> st.SearchStrategy[dict[str, Any]]:
    """Facts of any piece that the tables can describe."""
    return st.binary(min_size=_LENGTH, max_size=_LENGTH).map(piece_from)
