"""How cloth behaves, for the care book: which rows speak of an entry, and their figures."""

from __future__ import annotations

import math
from collections.abc import Iterator

from care_rules.behaviour import rows_about
from care_rules.drying_time import hours_to_dry, water_to_lose
from care_rules.rows import BEHAVIOUR, Row, row_name
from care_rules.tables import book
from care_rules.wording import degrees
from counter.care.wording import BOOK_FIGURES, from_to, room_words, water_words

_FIELDS = {
    "fibres": ("fibre",),
    "trims": ("trim",),
    "colours": ("trim", "colour"),
    "constructions": ("construction",),
    "kinds": ("kind",),
    "hazards": ("hazard",),
}
_ROOMS = ((15, 75), (20, 65), (25, 50))
"""Degrees Celsius and humidity of a cellar, the standard room and a heated one."""

_GRAMS = 250


def behaviours_of(row: Row) -> Iterator[Row]:
    """The rows that say how this fibre, trim, make or kind behaves, whatever else it is with."""
    known = {f"{field}:{row.bare}" for field in _FIELDS.get(row.table, ())}
    if family := row.cells.get("family"):
        known.add(f"family:{family}")
    for name in BEHAVIOUR:
        yield from rows_about(name, known, book())


def figures_of(row: Row, *, fahrenheit: bool) -> list[tuple[str, str]]:
    """The figures of a row that several columns make up: title, words."""
    return [(str(BOOK_FIGURES[name]), words) for name, words in _figures(row, fahrenheit) if words]


def _figures(row: Row, fahrenheit: bool) -> Iterator[tuple[str, str]]:
    cells = row.cells
    if row.table == "baths":
        if cells["detergent"]:
            yield "detergent", row_name(book()["detergents"][cells["detergent"]])
        yield "ph", from_to(cells["ph_low"], cells["ph_high"])
    elif row.table == "shrinkage":
        yield "shrinks_by", from_to(cells["least"], cells["most"])
    elif row.table == "drying":
        left = (cells["left_normal"], cells["left_reduced"], cells["left_none"])
        yield "water_left", water_words(*left)
        yield "hours", "; ".join(_hours(row, fahrenheit))
    elif row.table == "solvents":
        tables = book()
        named = [
            tables["fibres"].get(key) or tables["trims"][key] for key in row.listed("never_in")
        ]
        yield "never_in", ", ".join(dict.fromkeys(row_name(material) for material in named))


def _hours(row: Row, fahrenheit: bool) -> Iterator[str]:
    water = water_to_lose(row, _GRAMS, "normal")
    for celsius, humidity in _ROOMS:
        hours = hours_to_dry(water, celsius=celsius, humidity=humidity)
        yield room_words(math.ceil(hours), degrees(celsius, fahrenheit), humidity)
