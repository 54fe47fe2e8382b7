"""What a label's word for a fibre may mean: looked up in the tables.

A word with several meanings keeps them all: the strictest of them binds until somebody asks.
"""

from __future__ import annotations

from care_rules.meanings import Meaning, fold
from care_rules.tables import Book


def fibres_meant(word: str, tables: Book, market: str = "unknown") -> tuple[str, ...]:
    """The fibre keys that a label's word may mean, sorted; empty when no fibre has that name."""
    return tuple(sorted({f for m in meanings(word, tables, market) for f in m.fibres}))


def fibres_named(named: str, tables: Book) -> tuple[str, ...]:
    """The fibre keys that the field ``fibre`` of stored facts stands for: a key, or a word."""
    return (named,) if named in tables["fibres"] else fibres_meant(named, tables)


def meanings(word: str, tables: Book, market: str = "unknown") -> tuple[Meaning, ...]:
    """The meanings of a word on a label of this market."""
    every = tables.meanings.get(fold(word), ())
    here = tuple(meaning for meaning in every if meaning.market and meaning.market == market)
    return here or tuple(every)
