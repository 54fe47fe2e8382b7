"""What of a row was read in its source, what is practice, and what is still from memory.

The cell ``status`` is one word for the whole row, or says it cell by cell::

    partly: read class, start, limits.bleach; practice turn; memory rest

A part is a column, or one item of a cell that holds several: a limit by its path or as it stands
(``limits.bleach=oxygen@physical``), an agent, a word of a label. ``rest`` comes last and is what no
part names.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

#: From the firmest to the weakest: seen in the source, what the trade does, remembered only.
STATUSES = ("read", "practice", "memory")
#: The status of a row whose cells differ.
PARTLY = "partly"
REST = "rest"

#: Columns with several items in a cell, and what parts them.
_ITEMS = {"limits": ";", "agents": ";", "never": ";", "never_on": ";", "words": "|"}
_LISTS_OF_FIGURES = ("limits", "agents", "never", "never_on")
#: Columns that name, place or grade a row: they claim nothing that a source could say.
_FRAME = frozenset(
    {"key", "source", "clause", "status", "use", "how", "turn", "order", "level", "scope", "rule"}
)
_NUMBER = re.compile(r"\d+(\.\d+)?")
_REMEMBERED = re.compile(r"\b(memory|remembered)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Provenance:
    """``parts`` has each status that is given by name with what it is given to."""

    rest: str
    parts: tuple[tuple[str, tuple[str, ...]], ...] = ()

    @property
    def status(self) -> str:
        return PARTLY if self.parts else self.rest

    @property
    def statuses(self) -> set[str]:
        return {self.rest, *(status for status, _parts in self.parts)}

    def of(self, column: str, *items: str) -> str:
        """The status of a column, or of one item in it: by the first of its names that is told."""
        named = {part: status for status, parts in self.parts for part in parts}
        for item in items:
            if f"{column}.{item}" in named:
                return named[f"{column}.{item}"]
        return named.get(column, self.rest)


@dataclass(frozen=True, slots=True)
class Cell:
    """One thing that a row claims: a limit, an agent, a figure or a sentence.

    ``figure``: it decides or is reckoned with, where others are read by people.
    """

    rule: str
    table: str
    column: str
    value: str
    status: str
    figure: bool
    source: str


def read_provenance(cells: Mapping[str, str]) -> Provenance:
    """The column ``status`` of a row. ValueError says what is wrong and the cure."""
    provenance = _read(cells)
    source = f"{cells['source']} {cells['clause']}"
    if _REMEMBERED.search(source) and "memory" not in provenance.statuses:
        cure = "the source says memory: name the columns that are (partly: memory …; read rest)"
        raise ValueError(cure)
    return provenance


def _read(cells: Mapping[str, str]) -> Provenance:
    word, colon, clauses_text = cells["status"].partition(":")
    if word in STATUSES and not colon:
        return Provenance(word)
    if word != PARTLY:
        raise ValueError(f"use a status of {', '.join(STATUSES)}, or {PARTLY}: and the columns")
    *clauses, last = [clause.strip() for clause in clauses_text.split(";")]
    rest, _space, named = last.partition(" ")
    if rest not in STATUSES or named != REST or not clauses:
        raise ValueError(f"name at least one column, and end with a status and {REST!r}")
    parts = []
    for clause in clauses:
        status, _space, listed = clause.partition(" ")
        names = tuple(name.strip() for name in listed.split(",") if name.strip())
        if status not in STATUSES or not names:
            raise ValueError(f"clause {clause!r}: write a status and its columns")
        for name in names:
            _check_part(name, cells)
        parts.append((status, names))
    every = [name for _status, names in parts for name in names]
    if len(set(every)) < len(every):
        raise ValueError("name each column once")
    return Provenance(rest, tuple(parts))


def _check_part(name: str, cells: Mapping[str, str]) -> None:
    column, dot, item = name.partition(".")
    if column in _FRAME or not cells.get(column, "").strip():
        raise ValueError(f"no cell {column!r} in this row: name a column that is filled")
    if dot and all(item not in pair for pair in _items(column, cells[column])):
        raise ValueError(f"no {item!r} in the cell {column!r}: name what stands there")


def _items(column: str, cell: str) -> list[tuple[str, str]]:
    """What stands in a cell of several: the name and the whole of each. A limit may stand twice."""
    mark = _ITEMS.get(column)
    parts = [part.strip() for part in cell.split(mark) if part.strip()] if mark else []
    return [(part.partition("=")[0], part) for part in parts]


def cells_of(
    rule: str, table: str, cells: Mapping[str, str], provenance: Provenance
) -> Iterator[Cell]:
    """Each thing that a row claims, with a status of its own."""
    for column, value in cells.items():
        if column in _FRAME or not value.strip():
            continue
        figure = column in _LISTS_OF_FIGURES or bool(_NUMBER.fullmatch(value))
        for item, whole in _items(column, value) or [("", value)]:
            status = provenance.of(column, whole, item)
            yield Cell(rule, table, column, whole, status, figure, cells["source"])
