"""Tie, scarf, hat and bag."""

from __future__ import annotations

from tickets.workroom.sides import (
    AS_DRAWN,
    BOTH,
    EDGE,
    SEAM,
    WHOLE,
    Outline,
    back,
    bars,
    box,
    buttons,
    flat,
    front,
    slices,
)

_TIE_LOOP = "M60 5C72 5 80 9 80 15C80 20 74 25 66 28L62 24C69 21 74 18 74 15C74 11.6 68 9 60 9"
_TIE_KNOT = "M60 21L68.5 21C69 25 67 31 65 36L60 37"
_TIE_BLADE = "M60 36L64.6 35.6C68 56 73 86 75 113L60 130"
_TIE_TILES = [
    ("neck_loop", AS_DRAWN, box(20, 0, 100, 21)),
    ("knot", AS_DRAWN, box(20, 21, 100, 37)),
    ("blade", AS_DRAWN, box(20, 37, 100, 100)),
    ("point", AS_DRAWN, box(20, 100, 100, 134)),
]

TIE = Outline(
    "tie",
    front(
        [
            (EDGE, WHOLE, _TIE_LOOP),
            (EDGE, WHOLE, _TIE_BLADE),
            (
                SEAM,
                AS_DRAWN,
                "M54.2 48L64 37M51.6 64L66.7 53M49.3 80L69.1 69M47.4 96L71.3 85M46 111L73 100",
            ),
            (EDGE, WHOLE, _TIE_KNOT),
        ],
        _TIE_TILES,
    ),
    back(
        [
            (EDGE, WHOLE, _TIE_LOOP),
            (EDGE, WHOLE, _TIE_BLADE),
            (SEAM, BOTH, "M60 112L74.8 113"),
            (SEAM, AS_DRAWN, "M60 37L60 130"),
            (EDGE, WHOLE, "M60 37L63 37L67 100L60 107"),
            (EDGE, AS_DRAWN, "M49.6 80L70.4 80L70.8 86L49.2 86Z"),
            (EDGE, WHOLE, _TIE_KNOT),
        ],
        _TIE_TILES,
        [
            ("keeper", AS_DRAWN, box(48, 78.6, 72, 87.4)),
            ("narrow_end", WHOLE, "M60 37L63.4 37L67.6 100L60 108"),
        ],
    ),
)

_SCARF_FRINGE = bars((66, 116), (88, 116), (0, 12), 9)

SCARF = Outline(
    "scarf",
    flat(
        [
            (EDGE, BOTH, "M66 24C72 46 66 80 64 116L90 116C92 80 94 48 86 22Z"),
            (SEAM, BOTH, f"M64.6 106L90.4 106M65 101L90.8 101{_SCARF_FRINGE}"),
            (EDGE, WHOLE, "M60 6C78 6 92 11 94 20C94 30 80 38 60 40"),
            (EDGE, WHOLE, "M60 11C72 11 80 14 82 18C80 22 72 25 60 26"),
            (SEAM, BOTH, "M66 30.6C76 29 84 26 88 21"),
        ],
        [
            ("neck_loop", AS_DRAWN, box(0, 0, 120, 40)),
            ("end", BOTH, box(60, 40, 120, 100)),
            ("fringe", BOTH, box(60, 100, 120, 134)),
        ],
    ),
    flat(
        [
            (EDGE, BOTH, "M66 24C72 46 66 80 64 116L90 116C92 80 94 48 86 22Z"),
            (SEAM, BOTH, f"M64.6 106L90.4 106{_SCARF_FRINGE}"),
            (EDGE, WHOLE, "M60 6C78 6 92 11 94 20C94 30 80 38 60 40"),
            (SEAM, WHOLE, "M60 13C74 13 84 16 87 20C84 26 74 31 60 33"),
        ],
        [
            ("neck_loop", AS_DRAWN, box(0, 0, 120, 40)),
            ("end", BOTH, box(60, 40, 120, 100)),
            ("fringe", BOTH, box(60, 100, 120, 134)),
        ],
    ),
    worn=False,
)

_BRIM = "M60 84C90 84 112 88 114 95C112 106 88 110 60 110"
_CROWN = "M60 34C66 34 70 27 78 28C86 30 88 60 90 94Q76 100 60 100"
_HAT_TILES = slices([(120.0, 0.0), (120.0, 134.0)], ("crown", BOTH, 76), ("brim", BOTH, 134))
_BAND: tuple[str, str, str] = ("hat_band", WHOLE, "M60 84L88.8 79L90.4 95L60 100")

HAT = Outline(
    "hat",
    front(
        [
            (EDGE, WHOLE, _BRIM),
            (EDGE, WHOLE, _CROWN),
            (SEAM, BOTH, "M88.6 80Q76 85.6 60 85.6"),
            (SEAM, BOTH, "M60 34C61 44 64 52 70 58"),
        ],
        _HAT_TILES,
        [_BAND],
    ),
    back(
        [
            (EDGE, WHOLE, _BRIM),
            (EDGE, WHOLE, _CROWN),
            (SEAM, BOTH, "M88.6 80Q76 85.6 60 85.6"),
            (EDGE, BOTH, "M60 92L72 86L72 98Z"),
            (EDGE, AS_DRAWN, box(57.6, 89, 62.4, 95)),
        ],
        _HAT_TILES,
        [_BAND],
    ),
)

_HANDLE = "M60 10C82 10 88 28 89 58L85 58C84 32 79 14.4 60 14.4"
_BODY = "M60 56L98 56C101 80 103 100 104 124L60 124"

BAG = Outline(
    "bag",
    flat(
        [
            (EDGE, WHOLE, _HANDLE),
            (EDGE, WHOLE, _BODY),
            (SEAM, AS_DRAWN, "M17 118L103 118"),
            (EDGE, WHOLE, "M60 56L98 56C98 76 92 86 84 90L60 94"),
            (EDGE, AS_DRAWN, box(54, 86, 66, 101)),
            (SEAM, AS_DRAWN, buttons(60, 93.4)),
            (EDGE, BOTH, "M83 52L92 52L92 64L83 64Z"),
        ],
        slices(
            [(120.0, 0.0), (120.0, 134.0)],
            ("handle", WHOLE, 52),
            ("flap", BOTH, 94),
            ("lower_side", BOTH, 134),
        ),
        [("clasp", AS_DRAWN, box(53, 85, 67, 102))],
    ),
    flat(
        [
            (EDGE, WHOLE, _HANDLE),
            (EDGE, WHOLE, _BODY),
            (SEAM, AS_DRAWN, "M17 118L103 118"),
            (EDGE, AS_DRAWN, box(34, 76, 86, 80.4)),
            (SEAM, AS_DRAWN, bars((37, 76.4), (83, 76.4), (0, 3.6), 24)),
            (EDGE, BOTH, "M83 52L92 52L92 64L83 64Z"),
        ],
        slices(
            [(120.0, 0.0), (120.0, 134.0)],
            ("handle", WHOLE, 52),
            ("upper_side", BOTH, 94),
            ("lower_side", BOTH, 134),
        ),
        [("zip", AS_DRAWN, box(33, 74, 87, 82))],
    ),
    worn=False,
)

SMALL_PIECES = (TIE, SCARF, HAT, BAG)
