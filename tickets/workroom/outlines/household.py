"""Duvet, curtain, and the plain outline of every kind without one of its own."""

from __future__ import annotations

from tickets.workroom.sides import (
    AS_DRAWN,
    BOTH,
    EDGE,
    FOLD,
    SEAM,
    WHOLE,
    Outline,
    bars,
    box,
    flat,
    slices,
)

_FULL = [(120.0, 0.0), (120.0, 134.0)]
_DUVET = (
    "M60 7Q72 4.6 84 7Q97 4.6 108 8Q110.6 20 108 34Q110.6 48 108 62Q110.6 76 108 90"
    "Q110.6 108 108 126Q97 129.4 84 127Q72 129.4 60 127"
)
_DUVET_TILES = slices(
    _FULL, ("upper_part", BOTH, 47), ("middle_part", BOTH, 87), ("lower_part", BOTH, 134)
)

DUVET = Outline(
    "duvet",
    flat(
        [
            (EDGE, WHOLE, _DUVET),
            (SEAM, AS_DRAWN, "M60 7Q57.6 20 60 34Q57.6 48 60 62Q57.6 76 60 90Q57.6 108 60 127"),
            (SEAM, BOTH, "M84 7Q81.6 20 84 34Q81.6 48 84 62Q81.6 76 84 90Q81.6 108 84 127"),
            (SEAM, BOTH, "M60 34Q72 31.6 84 34Q96 31.6 108 34M60 62Q72 59.6 84 62Q96 59.6 108 62"),
            (SEAM, BOTH, "M60 90Q72 87.6 84 90Q96 87.6 108 90"),
        ],
        _DUVET_TILES,
    ),
    flat(
        [
            (EDGE, WHOLE, _DUVET),
            (SEAM, BOTH, "M60 34Q84 31 108 34M60 62Q84 59 108 62M60 90Q84 87 108 90"),
            (EDGE, AS_DRAWN, box(88, 112, 100, 127)),
            (SEAM, AS_DRAWN, "M91 116.5L97 116.5M91 120L97 120"),
        ],
        _DUVET_TILES,
    ),
    worn=False,
)

_CURTAIN = (
    "M60 10L100 10C98 22 99 40 102 60C104 84 106 106 108 124Q102 129 96 124Q90 129 84 124"
    "Q78 129 72 124Q66 129 60 124"
)
_CURTAIN_TILES = slices(
    _FULL,
    ("heading", WHOLE, 26),
    ("upper_part", BOTH, 68),
    ("lower_part", BOTH, 116),
    ("hem", WHOLE, 134),
)

CURTAIN = Outline(
    "curtain",
    flat(
        [
            (EDGE, WHOLE, _CURTAIN),
            (SEAM, BOTH, bars((66, 10), (98, 10), (0, 14), 5)),
            (
                SEAM,
                BOTH,
                "M66 24L68 26L70 24M74 24L76 26L78 24M82 24L84 26L86 24M90 24L92 26L94 24",
            ),
            (SEAM, AS_DRAWN, "M60 28L60 124"),
            (
                SEAM,
                BOTH,
                "M68 28C70 60 71 96 72 124M76 28C79 60 82 96 84 124M84 28C88 60 93 96 96 124",
            ),
        ],
        _CURTAIN_TILES,
    ),
    flat(
        [
            (EDGE, WHOLE, _CURTAIN),
            (EDGE, AS_DRAWN, box(21, 14, 99, 22)),
            (SEAM, AS_DRAWN, bars((26, 18), (94, 18), (0, -12), 9)),
            (SEAM, BOTH, "M95 22C94 40 97 60 99 84L101 116"),
            (FOLD, AS_DRAWN, "M18 116L102 116"),
            (SEAM, BOTH, "M72 24C75 60 77 90 78 115"),
        ],
        _CURTAIN_TILES,
    ),
    worn=False,
)

_PILLOW = "M60 32C80 34 98 32 112 26C107 54 107 80 112 108C98 102 80 100 60 102"

PILLOW = Outline(
    "pillow",
    flat(
        [
            (EDGE, WHOLE, _PILLOW),
            (SEAM, BOTH, "M110 28C104 36 100 40 94 43M110 106C104 98 100 94 94 91"),
        ],
        slices(_FULL, ("upper_part", BOTH, 67), ("lower_part", BOTH, 134)),
    ),
    flat(
        [
            (EDGE, WHOLE, _PILLOW),
            (SEAM, AS_DRAWN, "M92 31.6C89 54 89 80 92 102.4"),
            (FOLD, AS_DRAWN, "M96 31C93 54 93 80 96 103"),
            (EDGE, AS_DRAWN, box(76, 88, 86, 101)),
        ],
        slices(_FULL, ("upper_part", BOTH, 67), ("lower_part", BOTH, 134)),
    ),
    worn=False,
)

_CLOTH = "M60 8L106 8L106 126L60 126"
_CLOTH_TILES = slices(
    _FULL, ("upper_part", BOTH, 47), ("middle_part", BOTH, 87), ("lower_part", BOTH, 134)
)

PLAIN = Outline(
    "plain",
    flat(
        [(EDGE, WHOLE, _CLOTH), (SEAM, AS_DRAWN, box(19, 13, 101, 121))],
        _CLOTH_TILES,
    ),
    flat(
        [
            (EDGE, WHOLE, _CLOTH),
            (FOLD, AS_DRAWN, box(19, 13, 101, 121)),
            (EDGE, AS_DRAWN, box(86, 106, 98, 121)),
            (SEAM, AS_DRAWN, "M89 110.5L95 110.5M89 114L95 114"),
        ],
        _CLOTH_TILES,
    ),
    worn=False,
)

HOUSEHOLD = (DUVET, PILLOW, CURTAIN, PLAIN)
