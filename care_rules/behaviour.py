"""How cloth behaves: what the tables without limits say of what a piece is made of.

Nothing here limits or warns. A step is worked by it, in words and settings, and the care book
shows the rows.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache

from care_rules.rows import Row
from care_rules.tables import Book

#: What the heat of a dryer or an iron shrinks, a bath does not.
_BY_HEAT = "heat"


def rows_about(name: str, known: Collection[str], tables: Book) -> tuple[Row, ...]:
    """The rows of a table whose condition holds for these facts, in the order of the table."""
    return _rows(name, _asked_of(name, tables).intersection(known), tables)


@lru_cache(maxsize=64)
def _asked_of(name: str, tables: Book) -> frozenset[str]:
    """Every fact that a row of the table asks for: the others tell its pieces apart in vain."""
    whens = tables.behaviour[name]
    groups = [
        group for rows in whens.values() for when in rows for group in (*when.also, when.unless)
    ]
    return frozenset(whens).union(*groups)


@lru_cache(maxsize=4096)
def _rows(name: str, known: frozenset[str], tables: Book) -> tuple[Row, ...]:
    whens = tables.behaviour[name]
    spoken = {
        when.row.bare
        for fact in known
        if fact in whens
        for when in whens[fact]
        if when.holds(known)
    }
    return tuple(row for key, row in tables[name].items() if key in spoken) if spoken else ()


@dataclass(frozen=True, slots=True)
class BathChemistry:
    """What the water of a piece may hold: the narrowest of its materials binds.

    ``detergent`` is the key of one that the piece must have, empty where any for its colour does.
    """

    detergent: str = ""
    ph_low: float = 0
    ph_high: float = 14
    enzymes_harm: bool = False
    #: whether the crew is told, since another detergent would ruin it
    named: bool = False
    because: tuple[str, ...] = ()


def bath_of(known: Collection[str], tables: Book) -> BathChemistry:
    """The chemistry that every material of the piece stands."""
    return _bath_of(_asked_of("baths", tables).intersection(known), tables)


@lru_cache(maxsize=1024)
def _bath_of(known: frozenset[str], tables: Book) -> BathChemistry:
    rows = _rows("baths", known, tables)
    if not rows:
        return BathChemistry()
    strictest_first = sorted(rows, key=lambda row: float(row.cells["ph_high"]))
    asking = next((row for row in strictest_first if row.cells["detergent"]), None)
    return BathChemistry(
        asking.cells["detergent"] if asking else "",
        max(float(row.cells["ph_low"]) for row in rows),
        float(strictest_first[0].cells["ph_high"]),
        any(row.flag("enzymes_harm") for row in rows),
        asking is not None and asking.flag("named"),
        (asking.key,) if asking else (),
    )


def shrinking(known: Collection[str], tables: Book) -> list[Row]:
    """What of the piece may still shrink in a bath, the most first."""
    rows = [row for row in rows_about("shrinkage", known, tables) if row.cells["by"] != _BY_HEAT]
    return sorted(rows, key=lambda row: -int(row.cells["most"]))


def warm_words(known: Collection[str], tables: Book) -> tuple[str, ...]:
    """What warmth brings back to the piece once it is dry, in sentences for whoever tumbles it."""
    rows = rows_about("finishes", known, tables)
    return tuple(row.cells["warm_says"] for row in rows if row.cells["warm_says"])


def colour_test(way: str, answers: frozenset[str], tables: Book) -> Row | None:
    """The colour test before this way of cleaning, unless its answer was told already."""
    for row in tables["fastness"].values():
        if row.cells["way"] == way and row.cells["does"]:
            return None if answers & {*row.listed("answered_by")} else row
    return None
