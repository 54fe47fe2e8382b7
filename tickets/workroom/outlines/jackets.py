"""Jacket, coat, waistcoat and what closes in front as they do."""

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
    box,
    buttons,
    front,
    slices,
)

_ARMHOLE = [(87.0, 0.0), (87.0, 17.0), (84.0, 38.0), (89.0, 57.0), (95.0, 137.0)]
_SLEEVE_TILE: Row = ("sleeve", BOTH, "M87 0L87 17L84 38L89 57L95 137L120 137L120 0Z")
_UNDERARM: Row = ("underarm", BOTH, "M84 46L96 46L96 67L80 67L80 52Z")
_ELBOW: Row = ("elbow", BOTH, "M94 66L114 62L116 78L98 82Z")
_CUFF: Row = ("cuff", BOTH, "M99 96L120 92L120 114L100 114Z")

_SLEEVE = "M86 16C92 17 97 22 98.5 30C102 50 110 74 115.5 103L102.5 107C99 88 94 72 89 57L78 38Z"
_SLEEVE_BUTTONS = buttons(104.6, 94.6, 98.4, 102.2)

_JACKET_SHOULDER = "L87 17C83.5 30 84 46 89 57C87 72 86 82 87 92"
_JACKET_FRONT = (
    f"M59 77L70 42L72 12{_JACKET_SHOULDER}"
    "C88 104 89.5 112 90 120Q80 124.5 72 124C63 122 58.5 112 57 96L57 80Z"
)
_LAPEL = "M59.4 78C66 67 74.5 54 79.5 42L71.5 39L65.6 36L63.4 47Z"
_LAPEL_COLLAR = "M65.6 36L69.6 8.5Q74 10 76 13.5C78.5 21 78.5 28 76.5 36L71.5 39Z"

JACKET = Outline(
    "jacket",
    front(
        [
            (EDGE, BOTH, _SLEEVE),
            (EDGE, WHOLE, "M60 6.5Q66 6.5 70 9.5L66 60L60 76"),
            (SEAM, AS_DRAWN, "M50.5 13Q60 17 69.5 13"),
            (EDGE, BOTH, _JACKET_FRONT),
            (SEAM, BOTH, "M76 65C74 72 74 80 75 88"),
            (EDGE, BOTH, "M69.5 88L85 86L85.6 91.4L70 93.4Z"),
            (EDGE, AS_DRAWN, "M76.4 55.6L85 53.8L85.6 57.4L77 59.2Z"),
            (EDGE, BOTH, _LAPEL),
            (EDGE, BOTH, _LAPEL_COLLAR),
            (SEAM, AS_DRAWN, buttons(60, 82, 95)),
        ],
        [
            _SLEEVE_TILE,
            *slices(
                _ARMHOLE,
                ("shoulder", BOTH, 24),
                ("chest", BOTH, 70),
                ("lower_front", BOTH, 115),
                ("hem", BOTH, 134),
            ),
        ],
        [
            ("collar", BOTH, "M60 44L60 0L76 0L79 14L79 34L76.5 36L71.5 39L65.6 36L64 44Z"),
            ("lapel", BOTH, "M60 78L60 44L64 44L65.6 36L71.5 39L79.5 42L74.5 54L66 67Z"),
            _CUFF,
            ("left_breast_pocket", AS_DRAWN, "M75.4 54.8L85.6 52.6L86.6 58.4L76.4 60.6Z"),
            ("pocket", BOTH, "M68.5 87L86 85L87 96L69.5 98Z"),
            _UNDERARM,
        ],
    ),
    back(
        [
            (EDGE, BOTH, _SLEEVE),
            (SEAM, BOTH, _SLEEVE_BUTTONS),
            (EDGE, WHOLE, f"M60 9L70 10{_JACKET_SHOULDER}C88 104 89.5 112 90 121Q76 124 60 124"),
            (SEAM, AS_DRAWN, "M60 20L60 124"),
            (SEAM, BOTH, "M84.4 44C77 60 75 76 76 96L76.5 122.9"),
            (FOLD, AS_DRAWN, "M63.5 124L63.5 98L60 95"),
            (EDGE, WHOLE, "M60 6Q69 6.5 73 10.5L76 17Q69 20 60 20"),
        ],
        [
            _SLEEVE_TILE,
            *slices(
                _ARMHOLE,
                ("shoulder", BOTH, 24),
                ("upper_back", BOTH, 70),
                ("lower_back", BOTH, 115),
                ("hem", BOTH, 134),
            ),
        ],
        [
            ("collar", WHOLE, "M60 0L80 0L76.5 18L60 21"),
            _CUFF,
            ("vent", AS_DRAWN, box(56, 96, 64, 134)),
            _ELBOW,
            _UNDERARM,
        ],
    ),
)

_COAT_ARMHOLE = [(81.0, 0.0), (81.0, 15.0), (79.0, 30.0), (82.0, 46.0), (95.2, 134.0)]
_COAT_SLEEVE_TILE: Row = ("sleeve", BOTH, "M81 0L81 15L79 30L82 46L95.2 134L120 134L120 0Z")
_COAT_SLEEVE = "M80 14C86 15 91 19 92.5 26C96 42 102 60 107 80L94.5 84C91 70 87 58 82 46L74 30Z"
_COAT_SLEEVE_TAB = "M93.6 77L105.4 73.4"
_COAT_SIDE = "L81 15C78.6 26 79 37 82 46C81 56 81 62 82 68C85 88 88 106 90 125"
_COAT_UNDERARM: Row = ("underarm", BOTH, "M78 36L90 36L90 56L75 56L75 42Z")
_COAT_CUFF: Row = ("cuff", BOTH, "M91 77.6L120 69L120 92L94 92Z")
_COAT_ELBOW: Row = ("elbow", BOTH, "M85 51L104 47L107 61L90 65Z")

COAT = Outline(
    "coat",
    front(
        [
            (EDGE, BOTH, _COAT_SLEEVE),
            (SEAM, BOTH, _COAT_SLEEVE_TAB),
            (EDGE, WHOLE, "M60 5Q65 5 69 8L66 40L60 58"),
            (SEAM, AS_DRAWN, "M52 10.5Q60 14 68 10.5"),
            (EDGE, BOTH, f"M59 60L69 33L71 10{_COAT_SIDE}Q74 129.5 57 129.5L57 62Z"),
            (SEAM, AS_DRAWN, buttons(60.4, 64, 79, 94)),
            (EDGE, BOTH, "M75 68L82 82L77.6 84L70.6 70Z"),
            (EDGE, BOTH, "M59.4 61C66 52 73.6 44 79 34L70.6 30.6L64.6 27L62.6 40Z"),
            (EDGE, BOTH, "M64.6 27L68 6.5Q72 8 74 11.5C76.4 17 77 22 76 28L70.6 30.6Z"),
        ],
        [
            _COAT_SLEEVE_TILE,
            *slices(
                _COAT_ARMHOLE,
                ("shoulder", BOTH, 24),
                ("chest", BOTH, 58),
                ("lower_front", BOTH, 90),
                ("skirt", BOTH, 121),
                ("hem", BOTH, 134),
            ),
        ],
        [
            ("collar", BOTH, "M60 34L60 0L74 0L78 12L78 27L70.6 30.6L64.6 27L63.5 34Z"),
            ("lapel", BOTH, "M60 60L60 34L63.5 34L64.6 27L70.6 30.6L79 34L73.6 44L66 52.6Z"),
            _COAT_CUFF,
            ("pocket", BOTH, "M75 66L84 82L78 86L69 70Z"),
            ("button_band", AS_DRAWN, box(56, 60, 64, 134)),
            _COAT_UNDERARM,
        ],
    ),
    back(
        [
            (EDGE, BOTH, _COAT_SLEEVE),
            (SEAM, BOTH, _COAT_SLEEVE_TAB),
            (EDGE, WHOLE, f"M60 7.5L68 8{_COAT_SIDE}Q76 129.5 60 129.5"),
            (SEAM, AS_DRAWN, "M60 18L60 129.5"),
            (FOLD, AS_DRAWN, "M63.5 129.5L63.5 98L60 95"),
            (EDGE, AS_DRAWN, "M44 66Q60 69 76 66L76 72.4Q60 75.4 44 72.4Z"),
            (SEAM, BOTH, buttons(72.6, 69.6)),
            (EDGE, WHOLE, "M60 4.5Q68 5 71.5 8.5L75 15.5Q68 18.5 60 18.5"),
        ],
        [
            _COAT_SLEEVE_TILE,
            *slices(
                _COAT_ARMHOLE,
                ("shoulder", BOTH, 24),
                ("upper_back", BOTH, 58),
                ("lower_back", BOTH, 90),
                ("skirt", BOTH, 121),
                ("hem", BOTH, 134),
            ),
        ],
        [
            ("collar", WHOLE, "M60 0L77 0L76 16L60 19"),
            _COAT_CUFF,
            ("belt", AS_DRAWN, box(43, 64, 77, 76)),
            ("vent", AS_DRAWN, box(56, 95, 64, 134)),
            _COAT_ELBOW,
            _COAT_UNDERARM,
        ],
    ),
)

_VEST_SIDE = "L80 12C77 24 76 36 80 46C83 50 86 52 89 53L89 108"

WAISTCOAT = Outline(
    "waistcoat",
    front(
        [
            (EDGE, WHOLE, "M60 8.5Q67 8.5 71 10L68 40L60 62"),
            (SEAM, AS_DRAWN, "M50 13Q60 17 70 13"),
            (EDGE, BOTH, f"M57.4 60C63 44 68 26 70 10{_VEST_SIDE}L70 125L57.4 110Z"),
            (SEAM, AS_DRAWN, buttons(60, 66, 77, 88, 99, 108)),
            (SEAM, BOTH, "M77 62L76 108"),
            (EDGE, BOTH, "M69.6 92L85.4 88.6L86.2 92.4L70.4 95.8Z"),
            (EDGE, BOTH, "M68.4 64L81.6 61.2L82.2 64.6L69 67.4Z"),
        ],
        slices(
            [(80.0, 0.0), (96.0, 50.0), (96.0, 134.0)],
            ("shoulder", BOTH, 28),
            ("chest", BOTH, 74),
            ("lower_front", BOTH, 110),
            ("hem", BOTH, 134),
        ),
        [
            ("neckline", BOTH, "M60 62L60 0L71 0L74 11L71 28L66 44L60 66Z"),
            ("breast_pocket", BOTH, "M67.6 63.4L83 60L84 66L68.4 69Z"),
            ("pocket", BOTH, "M69 91L86.6 87.4L87.4 94L70 97.6Z"),
            ("button_band", AS_DRAWN, box(57, 66, 63, 116)),
        ],
    ),
    back(
        [
            (EDGE, WHOLE, f"M60 11Q66 11 70 10{_VEST_SIDE}Q74 112 60 112"),
            (SEAM, AS_DRAWN, "M60 11L60 112"),
            (SEAM, BOTH, "M74 46C72 66 72 86 74 110.6"),
            (EDGE, AS_DRAWN, "M46 82L74 82L74 86.6L46 86.6Z"),
            (EDGE, AS_DRAWN, "M55 80L65 80L65 88.6L55 88.6Z"),
        ],
        slices(
            [(80.0, 0.0), (96.0, 50.0), (96.0, 134.0)],
            ("shoulder", BOTH, 28),
            ("upper_back", BOTH, 74),
            ("lower_back", BOTH, 104),
            ("hem", BOTH, 134),
        ),
        [("belt", AS_DRAWN, box(46, 79, 74, 89.6))],
    ),
)

JACKETS = (JACKET, COAT, WAISTCOAT)
