"""The figures of ``figures.csv``: each with its unit, its source and how sure it is."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

_FOLDER = Path(__file__).parent
_STATUSES = ("read", "practice", "memory")


@dataclass(frozen=True, slots=True)
class Figure:
    """One row: ``status`` is read, practice (trade habit) or memory (to be checked)."""

    key: str
    value: str
    unit: str
    applies_to: str
    says: str
    source: str
    status: str


class FigureError(ValueError):
    """A row of the table, or a key asked of it, is wrong; the text names the cure."""


@cache
def figures() -> dict[str, Figure]:
    """Every row by key. Raises FigureError for a row without source or with an unknown status."""
    figure_of: dict[str, Figure] = {}
    with (_FOLDER / "figures.csv").open(encoding="utf-8", newline="") as file:
        for number, row in enumerate(csv.DictReader(file), 2):
            figure = Figure(**row)
            if not figure.source or figure.status not in _STATUSES:
                raise FigureError(
                    f"figures.csv row {number}, {figure.key!r}: give a source and a status out of "
                    f"{', '.join(_STATUSES)}"
                )
            figure_of[figure.key] = figure
    return figure_of


def figure(key: str) -> Figure:
    """The row of a key; FigureError when the table holds none."""
    try:
        return figures()[key]
    except KeyError:
        raise FigureError(f"figures.csv holds no row {key!r}: add one with its source") from None


def number(key: str) -> float:
    """The row's value as a number in the row's unit; of a range, its middle."""
    text = figure(key).value
    try:
        return float(text)
    except ValueError:
        low, _, high = text.partition("-")
    try:
        return (float(low) + float(high)) / 2
    except ValueError:
        raise FigureError(
            f"figures.csv row {key!r}, value {text!r}: write one number, or two with a dash"
        ) from None
