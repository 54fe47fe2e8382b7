"""Outlines of garments on paper: the same paths as on the screen, in millimetres."""

from __future__ import annotations

from collections.abc import Iterable

from tickets.printing.canvas import Sheet
from tickets.workroom.marks import CORE, RADIUS, ConditionMark
from tickets.workroom.sides import EDGE, FOLD, HEIGHT, SEAM, Outline, button
from tickets.workroom.strokes import placed, read_path

WEIGHTS = {EDGE: 0.4, SEAM: 0.2, FOLD: 0.25}
"""Millimetres of a line's width, whatever the size of the drawing."""

_RING = 0.6
_BLACK, _WHITE = 0.0, 1.0


def draw_outline(
    sheet: Sheet,
    outline: Outline,
    side: str,
    x: float,
    y: float,
    height: float,
    marks: Iterable[ConditionMark] = (),
) -> None:
    """Draw one side with its marks; ``x``, ``y`` and ``height`` are those of its box in mm."""
    scale = height / HEIGHT
    for stroke in outline.side(side).strokes:
        sheet.line_art(
            placed(stroke.path, scale, x, y),
            weight=WEIGHTS[stroke.kind],
            fill=_WHITE if stroke.kind == EDGE else None,
            dashed=stroke.kind == FOLD,
        )
    for mark in marks:
        if mark.side == side:
            for radius, fill in ((RADIUS, None), (CORE, _BLACK)):
                circle = read_path(button(mark.x, mark.y, radius))
                sheet.line_art(placed(circle, scale, x, y), weight=_RING, fill=fill)
