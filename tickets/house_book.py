"""The house rules in force, handed down by the floor above at start-up.

A house rule is never edited, so one that was looked up once may be remembered for good.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import care_rules
from care_rules import HouseRule, Rule


@dataclass(frozen=True)
class HouseBook:
    """``in_force`` reads the rules that bind now; ``ever`` also those that were retired."""

    in_force: Callable[[], tuple[HouseRule, ...]] = tuple
    ever: Callable[[], tuple[HouseRule, ...]] = tuple


_books: list[HouseBook] = [HouseBook()]
_known: dict[str, Rule] = {}


def register(house: HouseBook) -> None:
    """Name the functions that read the house rules. Called when the project starts."""
    _books[:] = [house]
    read_anew()


def read_anew() -> None:
    """Read the rules anew at the next look-up."""
    _known.clear()


def current() -> tuple[HouseRule, ...]:
    """The rules that bind now. One query."""
    return _books[0].in_force()


def rule(key: str) -> Rule:
    """The rule of a key in a decision, of the tables or of the house; KeyError when unknown.

    A key of the house costs one query the first time, others none.
    """
    if not key.startswith("house."):
        return care_rules.rule(key)
    if key not in _known:
        _known.update({own.key: own.rule() for own in _books[0].ever()})
    return _known[key]


def rules_of(keys: Iterable[str]) -> list[Rule]:
    """The rules of several keys; one that nobody knows any more is left out."""
    rules = []
    for key in keys:
        try:
            rules.append(rule(key))
        except KeyError:
            continue
    return rules
