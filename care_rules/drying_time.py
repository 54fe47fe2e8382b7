"""How long a piece dries in the air of a room, from the water left in it and from the room.

A simple model (common practice, no source): the hours grow with the root of the water to lose,
since a heavier piece has more water and more cloth that gives it off; they shrink as the air grows
able to take water up, which is the vapour that it lacks. One point sets the scale: a cotton shirt
of 220 g, spun fully, takes 12 hours on a rail in the standard room. Lying flat one side is shut off
by half, so that a wool jumper of 450 g takes a day.
"""

from __future__ import annotations

import math

from care_rules.rows import Row

#: The standard room of textile testing (ISO 139, from memory): degrees Celsius, per cent.
ROOM_C, ROOM_HUMIDITY = 20.0, 65.0
_SHIRT_HOURS, _SHIRT_WATER_G = 12.0, 220 * (0.50 - 0.08)
_LYING = 1.4


def vapour_lacking(celsius: float, humidity: float) -> float:
    """How much more water vapour the air could hold, in kilopascal (Magnus' formula)."""
    if not 0 <= humidity < 100:
        raise ValueError(f"humidity {humidity}: use a number from 0 to below 100")
    saturated = 0.61094 * math.exp(17.625 * celsius / (celsius + 243.04))
    return saturated * (100 - humidity) / 100


def water_to_lose(row: Row, grams: int, spin: str) -> float:
    """Grams of water between the spin and dry, for cloth that behaves like this row."""
    left = float(row.cells[f"left_{spin}"]) - float(row.cells["dry_at"])
    return grams * left / 100


def hours_to_dry(
    water_g: float,
    *,
    lying: bool = False,
    celsius: float = ROOM_C,
    humidity: float = ROOM_HUMIDITY,
) -> float:
    """Hours until so much water is gone, hanging or lying, in a room with still air."""
    hours = _SHIRT_HOURS * math.sqrt(water_g / _SHIRT_WATER_G)
    room = vapour_lacking(ROOM_C, ROOM_HUMIDITY) / vapour_lacking(celsius, humidity)
    return hours * room * (_LYING if lying else 1)
