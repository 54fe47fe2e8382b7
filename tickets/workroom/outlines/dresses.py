"""Dress and gown."""

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
    front,
    slices,
)

_DRESS_SIDE = "L82 15C79.4 25 79.6 34 82 42C80 50 78 56 77 61C84 80 94 104 99 122Q80 129 60 129"
_DRESS_SLEEVE = "M80 14C88 16 92 21 94 28L99 44L84.6 50L82 42L74 28Z"
_DRESS_LINE = [(82.0, 0.0), (82.0, 15.0), (80.0, 30.0), (82.0, 42.0), (112.0, 60.0), (112.0, 134.0)]
_DRESS_SLEEVE_TILE = ("sleeve", BOTH, "M82 0L82 15L80 30L82 42L112 60L120 60L120 0Z")
_DRESS_UNDERARM = ("underarm", BOTH, "M79 34L89 34L89 50L76 50L76 40Z")

DRESS = Outline(
    "dress",
    front(
        [
            (EDGE, BOTH, _DRESS_SLEEVE),
            (SEAM, BOTH, "M97.8 40.4L84 46.4"),
            (EDGE, WHOLE, f"M60 26L69 9{_DRESS_SIDE}"),
            (EDGE, WHOLE, "M60 7.5Q65.6 8 69.4 9C69.4 19 66 26 60 26"),
            (SEAM, AS_DRAWN, "M51 11Q60 15 69 11"),
            (SEAM, AS_DRAWN, "M43 61Q60 65 77 61"),
            (SEAM, BOTH, "M81.6 44L71 40M69 62.8L69.6 50"),
            (SEAM, BOTH, "M66 64C68 84 71 106 73 127.8M72 63C78 84 83 104 86 125.4"),
        ],
        [
            _DRESS_SLEEVE_TILE,
            *slices(
                _DRESS_LINE,
                ("shoulder", BOTH, 24),
                ("chest", BOTH, 51),
                ("waist", BOTH, 68),
                ("skirt", BOTH, 116),
                ("hem", WHOLE, 134),
            ),
        ],
        [("neckline", WHOLE, "M60 0L74 0L72 18L66 29L60 30"), _DRESS_UNDERARM],
    ),
    back(
        [
            (EDGE, BOTH, _DRESS_SLEEVE),
            (SEAM, BOTH, "M97.8 40.4L84 46.4"),
            (EDGE, WHOLE, f"M60 13Q66 13 69 9{_DRESS_SIDE}"),
            (SEAM, AS_DRAWN, "M60 13L60 129"),
            (SEAM, AS_DRAWN, "M58.2 14L58.2 78L60 81L61.8 78L61.8 14"),
            (SEAM, AS_DRAWN, bars((58.6, 18), (58.6, 77), (2.8, 0), 22)),
            (SEAM, AS_DRAWN, "M43 61Q60 65 77 61"),
            (SEAM, BOTH, "M70 62.6L70.4 46"),
            (SEAM, BOTH, "M70 63.4C76 84 81 104 84 126"),
        ],
        [
            _DRESS_SLEEVE_TILE,
            *slices(
                _DRESS_LINE,
                ("shoulder", BOTH, 24),
                ("upper_back", BOTH, 51),
                ("waist", BOTH, 68),
                ("skirt", BOTH, 116),
                ("hem", WHOLE, 134),
            ),
        ],
        [
            ("zip", AS_DRAWN, box(57, 14, 63, 82)),
            ("neckline", WHOLE, "M60 0L74 0L70 16L60 17"),
            _DRESS_UNDERARM,
        ],
    ),
)

_GOWN_SIDE = "C76 19 77 22 76.6 25.6C75 31 73 36 72.4 41"
_GOWN_LINE = [(80.0, 0.0), (80.0, 36.0), (116.0, 46.0), (116.0, 134.0)]

GOWN = Outline(
    "gown",
    front(
        [
            (EDGE, WHOLE, "M60 46L72 40.4C80 62 100 96 110 120Q88 127 60 127"),
            (
                SEAM,
                BOTH,
                "M62 49C63 78 64 104 65 126.8M66 47C70 74 76 104 80 126M70 45C79 70 92 102 97 123",
            ),
            (EDGE, BOTH, "M69 18L68 6L71 5.6L73.4 17.4Z"),
            (EDGE, WHOLE, f"M60 21.4C62.4 15.6 68 13.6 74 17{_GOWN_SIDE}L60 49"),
            (SEAM, BOTH, "M67 16.4C65.4 26 65.4 36 66 45.6"),
            (SEAM, AS_DRAWN, "M60 21.4L60 49"),
        ],
        slices(
            _GOWN_LINE,
            ("bodice", BOTH, 35),
            ("waist", BOTH, 52),
            ("skirt", BOTH, 114),
            ("hem", WHOLE, 134),
        ),
        [
            ("strap", BOTH, "M66 0L76 0L76 17L67.6 16Z"),
            ("neckline", WHOLE, "M60 16L67.6 12L78 14L78 20L68 19L60 26"),
        ],
    ),
    back(
        [
            (EDGE, WHOLE, "M60 100C84 100 104 112 115 120Q96 131 60 131"),
            (EDGE, WHOLE, "M60 46L72 40.4C80 62 98 92 107 116Q84 124 60 124"),
            (SEAM, AS_DRAWN, "M60 47L60 124"),
            (SEAM, BOTH, "M64 47C69 74 78 102 83 121.6M69 45C77 70 88 100 95 119.4"),
            (EDGE, BOTH, "M67.6 24L68 6L71 5.6L72.4 22Z"),
            (
                EDGE,
                WHOLE,
                "M60 26Q68 22 75.4 20C76.6 22 76.9 24 76.6 25.6C75 31 73 36 72.4 41L60 47.6",
            ),
            (SEAM, AS_DRAWN, "M57.6 27L57.6 47M62.4 27L62.4 47"),
            (SEAM, AS_DRAWN, buttons(60, 29.6, 33.4, 37.2, 41, 44.8, radius=1.1)),
            (SEAM, BOTH, "M68 23.6C67 31 67 38 67.8 44.4"),
        ],
        slices(
            _GOWN_LINE,
            ("bodice", BOTH, 35),
            ("waist", BOTH, 52),
            ("skirt", BOTH, 114),
            ("train", WHOLE, 134),
        ),
        [
            ("strap", BOTH, "M65 0L76 0L76 22L66 23Z"),
            ("button_band", AS_DRAWN, box(57, 25, 63, 49)),
        ],
    ),
)

DRESSES = (DRESS, GOWN)
