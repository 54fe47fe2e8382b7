"""Trousers, jeans, shorts and skirt."""

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
    button,
    buttons,
    front,
    slices,
)

_SIDE = [(112.0, 0.0), (112.0, 134.0)]


def leg_tiles(top: str) -> list[Row]:
    return slices(
        _SIDE,
        (top, BOTH, 50),
        ("thigh", BOTH, 74),
        ("knee", BOTH, 94),
        ("lower_leg", BOTH, 121),
        ("hem", BOTH, 134),
    )


WAISTBAND: Row = ("waistband", AS_DRAWN, box(8, 0, 112, 14))

LEGS = "M60 12L84.5 12C89 22 91 34 90.5 46C89 76 87.5 104 87 129.5L66 129.5C65.5 104 64 78 60 55"
BAND = "M60 5.5L84 5.5L85 12.5L60 12.5"
_LOOPS = box(72.4, 4.6, 74.8, 13.6)

TROUSERS = Outline(
    "trousers",
    front(
        [
            (EDGE, WHOLE, LEGS),
            (SEAM, AS_DRAWN, "M60 13L60 55M66.5 13L66.5 34C66.5 40 64 43 60 44"),
            (SEAM, BOTH, "M80 13L88.6 34"),
            (SEAM, BOTH, "M73.6 14L75 28M77 28C77.6 60 77 96 76.6 129"),
            (EDGE, WHOLE, BAND),
            (SEAM, AS_DRAWN, "M64 5.5L64 12.5"),
            (EDGE, BOTH, _LOOPS),
        ],
        leg_tiles("hip"),
        [
            WAISTBAND,
            ("fly", AS_DRAWN, "M58 14L67 14L67 36L64 43L58 46Z"),
            ("pocket", BOTH, "M78 14L87 14L93 36L86 36Z"),
            ("crotch", AS_DRAWN, "M50 46L70 46L68 66L52 66Z"),
        ],
    ),
    back(
        [
            (EDGE, WHOLE, LEGS),
            (SEAM, AS_DRAWN, "M60 13C60.6 30 61 44 60 55"),
            (SEAM, BOTH, "M74 13L74.6 26M77 44C77.6 70 77 100 76.6 129"),
            (EDGE, BOTH, "M67 27.6L82.6 26.6L82.8 29.6L67.2 30.6Z"),
            (SEAM, BOTH, button(75, 33.6)),
            (EDGE, WHOLE, BAND),
            (EDGE, BOTH, _LOOPS),
            (EDGE, AS_DRAWN, box(58.8, 4.6, 61.2, 13.6)),
        ],
        leg_tiles("seat"),
        [
            WAISTBAND,
            ("pocket", BOTH, "M66 26L84 25L84 36L66 37Z"),
            ("crotch", AS_DRAWN, "M50 46L70 46L68 66L52 66Z"),
        ],
    ),
)

_JEANS = (
    "M60 12L84.5 12C89 22 91 34 91 46C90.5 76 89.5 104 89.5 129.5L64.5 129.5C64.5 104 63.5 78 60 55"
)
_JEANS_HEM = "M65 125L89.4 125"
_OUTSEAM = "M87.6 44C87 76 86.2 104 86 125"

JEANS = Outline(
    "jeans",
    front(
        [
            (EDGE, WHOLE, _JEANS),
            (
                SEAM,
                AS_DRAWN,
                "M60 13L60 55M67.5 13L67.5 34C67.5 41 64.6 45 60 47M65 13L65 33C65 39 63 42 60 43",
            ),
            (SEAM, BOTH, "M69.6 13C70 24 78 30 89.8 30M72.4 13C73 22 80 27 89.2 27"),
            (SEAM, AS_DRAWN, "M33.2 19.4L45.4 19.4M32.8 21.4L44.6 21.4"),
            (SEAM, BOTH, f"{_JEANS_HEM}{_OUTSEAM}"),
            (EDGE, WHOLE, BAND),
            (SEAM, AS_DRAWN, button(60, 9, 1.8)),
            (EDGE, BOTH, _LOOPS),
        ],
        leg_tiles("hip"),
        [
            WAISTBAND,
            ("fly", AS_DRAWN, "M58 14L68.4 14L68.4 36L65 45L58 49Z"),
            ("pocket", BOTH, "M70 14L88 14L93 33L78 30L72 24Z"),
            ("crotch", AS_DRAWN, "M50 49L70 49L68 68L52 68Z"),
        ],
    ),
    back(
        [
            (EDGE, WHOLE, _JEANS),
            (SEAM, BOTH, "M60 30L87.8 21M60 27.4L87.2 18.6"),
            (SEAM, AS_DRAWN, "M60 13C60.6 30 61 44 60 55M62.4 29C63 40 63.2 46 62.4 58"),
            (EDGE, BOTH, "M65.6 33L83.6 30L85 46.6L77 52L67.6 49.6Z"),
            (SEAM, BOTH, "M66 35.4L83.8 32.4M66.2 37.2L84 34.2"),
            (SEAM, BOTH, _JEANS_HEM),
            (EDGE, WHOLE, BAND),
            (EDGE, BOTH, _LOOPS),
            (EDGE, AS_DRAWN, box(58.8, 4.6, 61.2, 13.6)),
        ],
        leg_tiles("seat"),
        [
            WAISTBAND,
            ("pocket", BOTH, "M65 32L84 29L86 47L77 53L67 51Z"),
            ("crotch", AS_DRAWN, "M50 52L70 52L68 68L52 68Z"),
        ],
    ),
)

_SHORTS = "M60 26L92 26C97 38 100 54 103.5 104L65 106.5C64.5 94 63 84 60 76"
_SHORTS_BAND = "M60 18L91 18L92.6 27L60 27"
_SHORTS_LOOPS = box(75, 17, 78, 28.4)
_SHORTS_HEM = "M65 101L103.2 98.6"
_SHORTS_WAIST: Row = ("waistband", AS_DRAWN, box(8, 0, 112, 28.4))


def _shorts_tiles(top: str) -> list[Row]:
    return slices(_SIDE, (top, BOTH, 70), ("leg", BOTH, 97), ("hem", BOTH, 134))


SHORTS = Outline(
    "shorts",
    front(
        [
            (EDGE, WHOLE, _SHORTS),
            (SEAM, AS_DRAWN, "M60 27L60 76M68.5 27L68.5 52C68.5 60 65 64 60 65.6"),
            (SEAM, BOTH, "M84 27L98.6 52"),
            (SEAM, BOTH, f"M77 28.4L78.6 44{_SHORTS_HEM}"),
            (EDGE, WHOLE, _SHORTS_BAND),
            (SEAM, AS_DRAWN, button(60, 22.5, 1.8)),
            (EDGE, BOTH, _SHORTS_LOOPS),
        ],
        _shorts_tiles("hip"),
        [
            _SHORTS_WAIST,
            ("fly", AS_DRAWN, "M58 28.4L69.5 28.4L69.5 54L65 64L58 67Z"),
            ("pocket", BOTH, "M82 28.4L96 28.4L104 54L96 54Z"),
            ("crotch", AS_DRAWN, "M49 67L71 67L69 86L51 86Z"),
        ],
    ),
    back(
        [
            (EDGE, WHOLE, _SHORTS),
            (SEAM, AS_DRAWN, "M60 27C60.8 46 61.4 62 60 76"),
            (SEAM, BOTH, f"M78 27L78.8 42{_SHORTS_HEM}"),
            (EDGE, BOTH, "M68.6 45L88.6 43.4L89 47.4L69 49Z"),
            (SEAM, BOTH, button(79, 52.6)),
            (EDGE, WHOLE, _SHORTS_BAND),
            (EDGE, BOTH, _SHORTS_LOOPS),
            (EDGE, AS_DRAWN, box(58.5, 17, 61.5, 28.4)),
        ],
        _shorts_tiles("seat"),
        [
            _SHORTS_WAIST,
            ("pocket", BOTH, "M67 43L90 41L90.6 56L67.6 57Z"),
            ("crotch", AS_DRAWN, "M49 67L71 67L69 86L51 86Z"),
        ],
    ),
)

_SKIRT = "M60 18L83 18C89 30 92 44 94 58C98 80 102 98 105 118Q84 126 60 126"
_SKIRT_BAND = "M60 9Q74 9 82.4 8.4L83.6 18.4Q72 19.4 60 19.4"


def _skirt_tiles(top: str, body: str) -> list[Row]:
    return slices(_SIDE, (top, BOTH, 52), (body, BOTH, 112), ("hem", WHOLE, 134))


SKIRT = Outline(
    "skirt",
    front(
        [
            (EDGE, WHOLE, _SKIRT),
            (SEAM, BOTH, "M68 19.4C71 50 76 90 79 124.6"),
            (FOLD, BOTH, "M65 19.4C66 50 68 90 69.6 125.6"),
            (SEAM, BOTH, "M79.6 19L82 34"),
            (EDGE, WHOLE, _SKIRT_BAND),
        ],
        _skirt_tiles("hip", "skirt"),
        [
            ("waistband", AS_DRAWN, box(8, 0, 112, 19.4)),
            ("pleat", BOTH, "M62 19.4L69 19.4L82 134L62 134Z"),
        ],
    ),
    back(
        [
            (EDGE, WHOLE, _SKIRT),
            (SEAM, AS_DRAWN, "M60 19.4L60 126M58.4 19.4L58.4 50L60 52M61.6 19.4L61.6 50L60 52"),
            (SEAM, AS_DRAWN, bars((59, 22), (59, 48), (2, 0), 14)),
            (SEAM, BOTH, "M74 19.2L76 38"),
            (FOLD, AS_DRAWN, "M65 126L65 100L60 97"),
            (EDGE, WHOLE, _SKIRT_BAND),
            (SEAM, AS_DRAWN, buttons(62.6, 14)),
        ],
        _skirt_tiles("seat", "skirt"),
        [
            ("waistband", AS_DRAWN, box(8, 0, 112, 19.4)),
            ("zip", AS_DRAWN, box(57, 19.4, 63, 53)),
            ("vent", AS_DRAWN, box(56, 96, 66, 134)),
        ],
    ),
)

TROUSERS_AND_SKIRTS = (TROUSERS, JEANS, SHORTS, SKIRT)
