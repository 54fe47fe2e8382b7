"""Looking rules up: by key, and as lists for people to review."""

from __future__ import annotations

from collections.abc import Iterable

from care_rules.house import HouseRule
from care_rules.provenance import STATUSES, Cell, cells_of
from care_rules.tables import book
from care_rules.vocabulary import Rule

TABLES_VERSION: str = book().version


def rule(key: str, house_rules: Iterable[HouseRule] = ()) -> Rule:
    """The rule of a key that stands in a ``because`` or a caution; KeyError when unknown.

    ``house_rules`` are looked through for keys of the house, retired ones too where the caller
    keeps them.
    """
    for own in house_rules:
        if own.key == key:
            return own.rule()
    return book().rules[key].rule()


def review_cells(*statuses: str, words: bool = False) -> list[Cell]:
    """What the tables claim with one of these statuses, the weakest first, in table order.

    Limits, agents and other figures; with ``words`` what is read by people too. Raises ValueError
    for a status that is none of read, practice and memory.
    """
    for status in statuses:
        if status not in STATUSES:
            raise ValueError(f"status {status!r}: use one of {', '.join(STATUSES)}")
    cells = [
        cell
        for row in book().rules.values()
        for cell in cells_of(row.key, row.table, row.cells, row.provenance)
        if cell.status in statuses and (words or cell.figure)
    ]
    return sorted(cells, key=lambda cell: -STATUSES.index(cell.status))
