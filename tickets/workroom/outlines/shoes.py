"""A pair of shoes: the outer sides one above the other, and the soles side by side."""

from __future__ import annotations

from tickets.workroom.sides import (
    AS_DRAWN,
    BOTH,
    EDGE,
    SEAM,
    Outline,
    Row,
    back,
    box,
    front,
)
from tickets.workroom.strokes import mirrored, path_data, placed, read_path

_SHOE: tuple[tuple[str, str], ...] = (
    (EDGE, "M10 52L10 60L38 60L42 55L104 58Q113 58 113 51L70 50Z"),
    (
        EDGE,
        "M11 53C9 40 10 26 12 14C20 9 32 9 42 14L62 28C78 34 104 34 112 46L113 52L42 51L38 53Z",
    ),
    (SEAM, "M88 35.6C83 40 82 46 84 51.6M91 36.4C86.6 41 85.6 46 87 51.6"),
    (SEAM, "M12 38C22 36 30 42 31 52.4M42 14C46 24 54 33 66 39L66 51.6"),
    (SEAM, "M49 19L56 15.6M54 23L61 19M59.4 26.6L66 23M65 29.4L71 26"),
    (SEAM, "M13 15.4C21 12 32 12 40.6 17"),
)
_PLACES: tuple[tuple[str, str], ...] = (
    ("toe", "M84 0L120 0L120 52L84 52Z"),
    ("vamp", "M42 0L84 0L84 52L42 52Z"),
    ("heel", "M0 0L42 0L42 52L0 52Z"),
    ("sole_edge", "M0 52L120 52L120 67L0 67Z"),
)


def _pair() -> tuple[list[Row], list[Row]]:
    """The left shoe above with its toe to the left, and the right one below, its mirror image."""
    strokes: list[Row] = []
    tiles: list[Row] = []
    for hand, down in (("left", 0.0), ("right", 67.0)):
        for kind, data in _SHOE:
            strokes.append((kind, AS_DRAWN, _moved(data, hand, down)))
        for place, data in _PLACES:
            tiles.append((f"{hand}_{place}", AS_DRAWN, _moved(data, hand, down)))
    return strokes, tiles


def _moved(data: str, hand: str, down: float) -> str:
    path = placed(read_path(data), 1, 0, down)
    return path_data(mirrored(path, 60) if hand == "left" else path)


_SOLE = (
    "M88 8C102 8 110 24 108 44C107 58 102 66 102 80L104 112C104 124 98 128 90 128"
    "C82 128 76 124 76 112L76 80C76 66 68 60 67 44C66 24 74 8 88 8Z"
)

SHOES = Outline(
    "shoes",
    front(*_pair()),
    back(
        [
            (EDGE, BOTH, _SOLE),
            (EDGE, BOTH, "M76 92Q89 86 103 92L104 112C104 124 98 128 90 128C82 128 76 124 76 112Z"),
            (SEAM, BOTH, "M75 70Q88 76 103.6 70"),
            (SEAM, BOTH, "M88 13C99 13 105 27 103.4 44C102.6 54 99.6 60 98.6 68"),
            (SEAM, BOTH, "M88 13C78 13 71 27 72 44C72.6 54 78 60 79.6 68"),
        ],
        [
            ("forepart", BOTH, box(60, 0, 120, 70)),
            ("sole_waist", BOTH, box(60, 70, 120, 89)),
            ("heel", BOTH, box(60, 89, 120, 134)),
        ],
    ),
)
