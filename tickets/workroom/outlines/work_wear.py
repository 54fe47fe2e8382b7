"""Dressing gown, coverall and apron."""

from __future__ import annotations

from tickets.workroom.sides import (
    AS_DRAWN,
    BOTH,
    EDGE,
    FOLD,
    SEAM,
    WHOLE,
    Outline,
    Row,
    back,
    bars,
    box,
    front,
    slices,
)

_ROBE_SLEEVE = "M79 13C86 14 92 19 94 26C98 42 104 60 110 77L92.6 84C90 70 87 58 82 48L74 30Z"
_ROBE_CUFF = "M107.4 69.6L91 76.4"
_ROBE_SIDE = "L81 15C78.6 26 79 37 82 47C82.4 58 82.4 66 83 74C85 92 87 108 88 126"
_ROBE_LINE = [(81.0, 0.0), (81.0, 15.0), (79.0, 30.0), (82.0, 47.0), (95.05, 134.0)]
_ROBE_SLEEVE_TILE: Row = ("sleeve", BOTH, "M81 0L81 15L79 30L82 47L95.05 134L120 134L120 0Z")
_ROBE_CUFF_PLACE: Row = ("cuff", BOTH, "M88 77.6L120 64.4L120 92L94 92Z")
_BELT = "M38 66Q60 70 82 66L82.6 72.6Q60 76.6 37.4 72.6Z"

ROBE = Outline(
    "robe",
    front(
        [
            (EDGE, BOTH, _ROBE_SLEEVE),
            (SEAM, BOTH, _ROBE_CUFF),
            (EDGE, WHOLE, "M60 5Q66 5 70 8L66 46L60 66"),
            (SEAM, AS_DRAWN, "M52 11Q60 14.6 68 11"),
            (EDGE, BOTH, f"M56 66L68 40L70 9{_ROBE_SIDE}Q72 130 56 130Z"),
            (EDGE, BOTH, "M70 90L82.6 90L83.6 107L70.6 107Z"),
            (SEAM, BOTH, "M70 94.4L83 94.4"),
            (EDGE, BOTH, "M58 70C65 54 68 32 68.4 6.4C74 8 77 12 78 18C77 40 71 58 63 71Z"),
            (EDGE, AS_DRAWN, _BELT),
            (EDGE, AS_DRAWN, "M56 73L50 98L55.4 99.4L60.4 75Z"),
            (EDGE, AS_DRAWN, "M59 75L64 103L69.4 102L64 73Z"),
            (EDGE, AS_DRAWN, box(55, 66.6, 65, 76.6)),
        ],
        [
            _ROBE_SLEEVE_TILE,
            *slices(
                _ROBE_LINE,
                ("chest", BOTH, 65),
                ("lower_front", BOTH, 90),
                ("skirt", BOTH, 121),
                ("hem", BOTH, 134),
            ),
        ],
        [
            ("belt", AS_DRAWN, box(36, 65, 84, 77)),
            ("collar", BOTH, "M60 0L78 0L79 18L77 40L70 60L66 65L60 65Z"),
            _ROBE_CUFF_PLACE,
            ("pocket", BOTH, box(69, 89, 85, 108)),
        ],
    ),
    back(
        [
            (EDGE, BOTH, _ROBE_SLEEVE),
            (SEAM, BOTH, _ROBE_CUFF),
            (EDGE, WHOLE, f"M60 8L70 9{_ROBE_SIDE}Q76 130 60 130"),
            (SEAM, AS_DRAWN, "M60 18L60 130"),
            (EDGE, AS_DRAWN, _BELT),
            (EDGE, BOTH, "M77 64L79.6 63.6L80.2 75L77.6 75.4Z"),
            (EDGE, WHOLE, "M60 4.5Q68 5 72 8C76 10 78 14 78 18Q70 23 60 23"),
        ],
        [
            _ROBE_SLEEVE_TILE,
            *slices(
                _ROBE_LINE,
                ("shoulder", BOTH, 24),
                ("upper_back", BOTH, 65),
                ("lower_back", BOTH, 90),
                ("skirt", BOTH, 121),
                ("hem", BOTH, 134),
            ),
        ],
        [
            ("belt", AS_DRAWN, box(36, 63, 84, 77)),
            ("collar", WHOLE, "M60 0L80 0L79 18L70 23L60 24"),
            _ROBE_CUFF_PLACE,
        ],
    ),
)

_ALL_IN_ONE = (
    "L79 14C77.6 22 77.6 32 80 40C79 50 78 56 78.6 60C80.6 68 81.6 74 81.4 80L80 130L63.6 130"
    "C63.4 112 62.4 96 60 82"
)
_COVERALL_SLEEVE = "M78.6 13.6C84 14.6 88 18 89.6 24L102 64L91 68L80 40L73 28Z"
_COVERALL_CUFFS = "M91.6 67.6L101.6 64L103.6 70.6L94 74Z"
_COVERALL_LINE = [(79.0, 0.0), (79.0, 14.0), (77.6, 28.0), (80.0, 40.0), (98.8, 134.0)]
_COVERALL_SLEEVE_TILE: Row = ("sleeve", BOTH, "M79 0L79 14L77.6 28L80 40L98.8 134L120 134L120 0Z")
_COVERALL_CUFF: Row = ("cuff", BOTH, "M88 68.4L120 57L120 80L92 80Z")

COVERALL = Outline(
    "coverall",
    front(
        [
            (EDGE, BOTH, _COVERALL_SLEEVE),
            (EDGE, BOTH, _COVERALL_CUFFS),
            (EDGE, WHOLE, f"M60 18L69 9{_ALL_IN_ONE}"),
            (
                SEAM,
                AS_DRAWN,
                "M41.4 60L78.6 60M41.6 63.6L78.4 63.6M58.4 22L58.4 74M61.6 22L61.6 74",
            ),
            (EDGE, BOTH, "M65 30L76 30L76 41L65 41Z"),
            (SEAM, BOTH, "M65 33.4L76 33.4M73 64L80.6 76M66 98L80.6 98M65.6 113L80.4 113"),
            (EDGE, WHOLE, "M60 6Q66 6 69 8.4L60 18"),
            (EDGE, BOTH, "M60 18L68.4 7Q72 8 73.4 11.4L76 16L67 25Z"),
        ],
        [
            _COVERALL_SLEEVE_TILE,
            *slices(
                _COVERALL_LINE,
                ("shoulder", BOTH, 24),
                ("chest", BOTH, 56),
                ("waist", BOTH, 66),
                ("thigh", BOTH, 96),
                ("knee", BOTH, 114),
                ("hem", BOTH, 134),
            ),
        ],
        [
            ("collar", WHOLE, "M60 0L75 0L77 16L67 26L60 24"),
            ("zip", AS_DRAWN, box(57, 22, 63, 76)),
            _COVERALL_CUFF,
            ("breast_pocket", BOTH, box(64, 29, 77, 42)),
            ("crotch", AS_DRAWN, "M52 76L68 76L67 92L53 92Z"),
        ],
    ),
    back(
        [
            (EDGE, BOTH, _COVERALL_SLEEVE),
            (EDGE, BOTH, _COVERALL_CUFFS),
            (EDGE, WHOLE, f"M60 9L69 9{_ALL_IN_ONE}"),
            (SEAM, AS_DRAWN, "M42 26Q60 28 78 26M60 64L60 82M41.4 60L78.6 60M41.6 63.6L78.4 63.6"),
            (SEAM, AS_DRAWN, bars((45, 60), (75, 60), (0, 3.6), 16)),
            (EDGE, BOTH, "M64 70L77 70L77 82L64 82Z"),
            (EDGE, WHOLE, "M60 5.4Q68 5.8 71.4 9L74 15Q68 18 60 18"),
        ],
        [
            _COVERALL_SLEEVE_TILE,
            *slices(
                _COVERALL_LINE,
                ("shoulder", BOTH, 24),
                ("upper_back", BOTH, 56),
                ("waist", BOTH, 66),
                ("seat", BOTH, 90),
                ("lower_leg", BOTH, 121),
                ("hem", BOTH, 134),
            ),
        ],
        [
            ("collar", WHOLE, "M60 0L75 0L75 15L60 19"),
            _COVERALL_CUFF,
            ("pocket", BOTH, box(63, 69, 78, 83)),
        ],
    ),
)

_NECK_STRAP = "M60 4C72 4 77 12 75 26L70.4 26C72 14 68 8.6 60 8.6"
_APRON = "M60 24L76 24C77 38 82 48 97 52L100 126L60 126"
_TIES = "M95 50.4L114 62L112.4 66.4L95 57Z"
_WIDE = [(120.0, 0.0), (120.0, 134.0)]
_APRON_TILES = slices(
    _WIDE, ("neck_loop", WHOLE, 23), ("bib", BOTH, 52), ("skirt", BOTH, 114), ("hem", WHOLE, 134)
)
_TIE_PLACE: Row = ("tie_end", BOTH, "M98 50L120 50L120 70L98 60Z")

APRON = Outline(
    "apron",
    front(
        [
            (EDGE, WHOLE, _NECK_STRAP),
            (EDGE, BOTH, _TIES),
            (EDGE, WHOLE, _APRON),
            (SEAM, AS_DRAWN, "M44.4 28L75.6 28"),
            (EDGE, AS_DRAWN, "M38 74L82 74L82 94L38 94Z"),
            (SEAM, AS_DRAWN, "M38 78L82 78M60 78L60 94"),
        ],
        _APRON_TILES,
        [_TIE_PLACE, ("pocket", BOTH, box(60, 73, 83, 95))],
    ),
    back(
        [
            (EDGE, WHOLE, _APRON),
            (EDGE, WHOLE, _NECK_STRAP),
            (EDGE, BOTH, _TIES),
            (FOLD, BOTH, "M60 28L73 28C74 42 80 52 94 56L96.8 122L60 122"),
        ],
        _APRON_TILES,
        [_TIE_PLACE],
    ),
)

WORK_WEAR = (ROBE, COVERALL, APRON)
