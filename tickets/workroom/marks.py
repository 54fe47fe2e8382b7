"""What was seen on a piece, marked on its outline, and the place of a point by name."""

from __future__ import annotations

from dataclasses import dataclass

from tickets.workroom.sides import HEIGHT, WIDTH, Outline

RADIUS, CORE = 10.0, 3.6
"""The ring round a mark and its core, in units of the outline."""


@dataclass(frozen=True)
class ConditionMark:
    """``says`` is what was seen; ``side`` and the point are those of the outline's box."""

    side: str
    x: float
    y: float
    says: str


def place_at(outline: Outline, side: str, x: float, y: float) -> str | None:
    """The key of the place at a point of ``front`` or ``back``, or None beside the garment.

    Raises ValueError for a point outside the box of 120 by 134.
    """
    if not (0 <= x <= WIDTH and 0 <= y <= HEIGHT):
        raise ValueError(f"{x:g}, {y:g}: give a point from 0, 0 to {WIDTH:g}, {HEIGHT:g}.")
    return outline.side(side).place(x, y)
