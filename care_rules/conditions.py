"""Rows that speak when certain facts come together, read from the ``when`` cells of the tables.

A cell names facts as ``field:value``. " | " parts alternatives and " & " what must hold together,
so ``market:us & fibre:wool | fibre:alpaca`` asks for a US label and for one of two fibres. The
rows are indexed by their first group: what a piece does not touch costs it nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from care_rules import vocabulary as words
from care_rules.rows import Row, Table

Group = frozenset[str]


@dataclass(frozen=True, slots=True)
class When:
    """A row and what must hold for it to speak besides the fact that points to it.

    ``under`` and ``at_least`` ask for a share, in percent, of the fibre that points to it.
    """

    row: Row
    also: tuple[Group, ...] = ()
    unless: Group = frozenset()
    under: float = 0.0
    at_least: float = 0.0

    def holds(self, known: Collection[str]) -> bool:
        if not all(any(fact in known for fact in group) for group in self.also):
            return False
        return not any(fact in known for fact in self.unless)

    def holds_for(self, percent: float) -> bool:
        return percent < self.under if self.under else percent >= self.at_least


def groups_of(cell: str) -> tuple[Group, ...]:
    """A ``when`` cell as groups of alternatives."""
    groups = (frozenset(map(str.strip, part.split(" | "))) for part in cell.split(" & "))
    return tuple(group - {""} for group in groups if group - {""})


def fields(tables: Mapping[str, Table]) -> dict[str, Collection[str]]:
    """What may stand after the colon, for each field that a ``when`` cell may name."""
    return {
        "kind": tables["kinds"],
        "construction": words.CONSTRUCTIONS,
        "colour": words.COLOURS,
        "state": words.LABEL_STATES,
        "edition": words.EDITIONS,
        "market": words.MARKETS,
        "symbol": tables["symbols"],
        "term": tables["terms"],
        "group": words.GROUPS,
        "part": words.PARTS,
        "blend": ("yes",),
        "fibre": tables["fibres"],
        "family": {row.cells["family"] for row in tables["fibres"].values()},
        "trim": {**tables["trims"], **tables["colours"]},
        "stain": tables["stains"],
        "damage": words.DAMAGES,
        "service": words.SERVICES,
        "work": tables["work"],
        "hazard": tables["hazards"],
        "cuts": ("yes",),
        "sewing": ("yes",),
        "wearer": words.WEARERS,
    }


def index(rows: Iterable[Row]) -> dict[str, tuple[When, ...]]:
    """Fact to the rows that it may make speak: each fact of a row's first group points to it."""
    whens_of: dict[str, list[When]] = {}
    for row in rows:
        first, *also = groups_of(row.cells["when"])
        when = When(row, tuple(also), groups_of_one(row.cells.get("unless", "")))
        for fact in first:
            whens_of.setdefault(fact, []).append(when)
    return {fact: tuple(whens) for fact, whens in whens_of.items()}


def groups_of_one(cell: str) -> Group:
    """A cell of alternatives only."""
    groups = groups_of(cell)
    return groups[0] if groups else frozenset()


def index_shares(rows: Iterable[Row]) -> dict[str, tuple[When, ...]]:
    """Fibre to the rows that ask for its share in a part."""
    whens_of: dict[str, list[When]] = {}
    for row in rows:
        when = When(
            row,
            groups_of(row.cells["when"]),
            under=float(row.cells["under"] or 0),
            at_least=float(row.cells["at_least"] or 0),
        )
        for fibre in row.listed("share_of"):
            whens_of.setdefault(fibre, []).append(when)
    return {fibre: tuple(whens) for fibre, whens in whens_of.items()}
