"""Looking rules up: by key, and as lists for people to review."""

from __future__ import annotations

from collections.abc import Iterable

from care_rules.house import HouseRule
from care_rules.tables import book
from care_rules.vocabulary import STATUSES, Rule

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


def review_rows(status: str = "memory") -> list[Rule]:
    """Every rule row of a status, in table order, for people to check against a source.

    Raises ValueError for a status that is none of read, practice and memory.
    """
    if status not in STATUSES:
        raise ValueError(f"status {status!r}: use one of {', '.join(STATUSES)}")
    return [row.rule() for row in book().rules.values() if row.cells["status"] == status]
