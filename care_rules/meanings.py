"""Fibre names and codes as labels write them, in many languages, and what each may mean.

A label's word is looked up as it stands, without regard to capitals, spaces and width.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from care_rules.rows import Row

#: The language of codes rather than words.
CODE = "code"


@dataclass(frozen=True, slots=True)
class Meaning:
    """What one language or market means by a word. No fibre: it names a cloth, not a fibre.

    ``market`` set: said on labels of that market, where no other meaning counts then. ``rule``:
    a composition rule to show with it.
    """

    fibres: tuple[str, ...]
    language: str
    market: str
    rule: str
    key: str


def fold(word: str) -> str:
    """A word as it is looked up."""
    return " ".join(unicodedata.normalize("NFKC", word).casefold().split())


def read_meanings(rows: Iterable[Row]) -> dict[str, tuple[Meaning, ...]]:
    """Folded word to its meanings, from the rows of the table."""
    meanings_of: dict[str, dict[Meaning, None]] = {}
    for row in rows:
        meaning = Meaning(
            row.listed("fibres"),
            row.cells["language"],
            row.cells["market"],
            row.cells["rule"],
            row.key,
        )
        for word in row.cells["words"].split("|"):
            if fold(word):
                meanings_of.setdefault(fold(word), {})[meaning] = None
    return {word: tuple(meanings) for word, meanings in meanings_of.items()}
