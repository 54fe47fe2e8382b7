"""Polo shirt, cardigan, hooded top and vest: kin of the shirt and the jumper."""

from __future__ import annotations

from tickets.workroom.outlines.tops import (
    COLLAR,
    COLLAR_BEHIND,
    COLLAR_INSIDE,
    COLLAR_LEAF,
    CUFF,
    ELBOW,
    JUMPER,
    JUMPER_BODY,
    JUMPER_CUFF_RIBS,
    JUMPER_CUFFS,
    JUMPER_HEM,
    JUMPER_HEM_RIBS,
    JUMPER_SLEEVE,
    SHORT_CUFF,
    SHORT_SLEEVE,
    SHORT_SLEEVE_HEM,
    TSHIRT_BODY,
    UNDERARM,
    back_tiles,
    front_tiles,
)
from tickets.workroom.sides import (
    AS_DRAWN,
    BOTH,
    EDGE,
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

_JUMPER_SLEEVES: list[Row] = [
    (EDGE, BOTH, JUMPER_SLEEVE),
    (EDGE, BOTH, JUMPER_CUFFS),
    (SEAM, BOTH, JUMPER_CUFF_RIBS),
]
_JUMPER_FOOT: list[Row] = [(EDGE, WHOLE, JUMPER_HEM), (SEAM, AS_DRAWN, JUMPER_HEM_RIBS)]

POLO = Outline(
    "polo",
    front(
        [
            (EDGE, BOTH, SHORT_SLEEVE),
            (SEAM, BOTH, SHORT_SLEEVE_HEM),
            (EDGE, WHOLE, f"M60 22L71 11{TSHIRT_BODY}"),
            (SEAM, AS_DRAWN, "M31 111L89 111M56 25L56 49L64 49L64 25"),
            (SEAM, AS_DRAWN, buttons(60, 33, 43)),
            (EDGE, WHOLE, COLLAR_INSIDE),
            (EDGE, BOTH, COLLAR_LEAF),
        ],
        front_tiles(108),
        [COLLAR, SHORT_CUFF, ("button_band", AS_DRAWN, box(56, 22, 64, 50)), UNDERARM],
    ),
    back(
        [
            (EDGE, BOTH, SHORT_SLEEVE),
            (SEAM, BOTH, SHORT_SLEEVE_HEM),
            (EDGE, WHOLE, f"M60 10L71 11{TSHIRT_BODY}"),
            (SEAM, AS_DRAWN, "M31 111L89 111"),
            (EDGE, WHOLE, COLLAR_BEHIND),
        ],
        back_tiles(108),
        [COLLAR, SHORT_CUFF, UNDERARM],
    ),
)

CARDIGAN = Outline(
    "cardigan",
    front(
        [
            *_JUMPER_SLEEVES,
            (EDGE, WHOLE, "M60 8.6Q66 8.6 71 10.4L66 50L60 64"),
            (SEAM, AS_DRAWN, "M49.6 12.4Q60 16 70.4 12.4"),
            (EDGE, BOTH, f"M60 112L60 62L72 11{JUMPER_BODY}Z"),
            *_JUMPER_FOOT,
            (EDGE, BOTH, "M68 84L84 84L84 104L68 104Z"),
            (SEAM, BOTH, "M68 88L84 88"),
            (EDGE, BOTH, "M57 62C63 48 68 28 69.6 9.4L74 11C72 32 67 52 63 66L63 124L57 124Z"),
            (SEAM, AS_DRAWN, buttons(60, 68, 80, 92, 104, 116)),
        ],
        front_tiles(112),
        [
            ("button_band", AS_DRAWN, box(56.6, 62, 63.4, 134)),
            ("neckline", BOTH, "M60 0L76 0L75 18L70 44L64 64L60 64Z"),
            CUFF,
            ("pocket", BOTH, box(67, 83, 85, 105)),
            UNDERARM,
        ],
    ),
    JUMPER.back,
)

HOODIE = Outline(
    "hoodie",
    front(
        [
            *_JUMPER_SLEEVES,
            (EDGE, WHOLE, f"M60 24L72 11{JUMPER_BODY}"),
            (EDGE, WHOLE, "M60 84L75 84L83 99L83 112L60 112"),
            (SEAM, BOTH, "M73.4 87L80.6 100L80.6 112"),
            *_JUMPER_FOOT,
            (EDGE, WHOLE, "M60 4C73 4 81 11 80 21C77 29 68 34 60 36"),
            (EDGE, WHOLE, "M60 9C69 9 74 14 73 21C70 27 65 30 60 32"),
            (SEAM, AS_DRAWN, "M47 19Q60 12 73 19"),
            (SEAM, BOTH, "M64 33L65 52"),
        ],
        front_tiles(112),
        [
            ("hood", WHOLE, "M60 0L84 0L82 22L60 37"),
            CUFF,
            ("pocket", BOTH, "M60 83L75.6 83L84 99L84 112L60 112Z"),
            UNDERARM,
        ],
    ),
    back(
        [
            *_JUMPER_SLEEVES,
            (EDGE, WHOLE, f"M60 12Q67 12 72 11{JUMPER_BODY}"),
            *_JUMPER_FOOT,
            (EDGE, WHOLE, "M60 5Q72 5.6 78 13C80 28 72 42 60 45"),
            (SEAM, AS_DRAWN, "M60 5L60 45"),
        ],
        back_tiles(112),
        [("hood", WHOLE, "M60 0L82 0L82 22L60 46"), CUFF, ELBOW, UNDERARM],
    ),
)

_VEST_LINE = [(90.0, 0.0), (96.0, 134.0)]
_VEST_ARM = "L77 10C76.6 30 78 44 88 50L88.6 120L60 120"
_VEST_HEMS = "M31.6 116L88.4 116"

VEST = Outline(
    "vest",
    front(
        [
            (EDGE, WHOLE, "M60 16.6C66 16.6 69 13 69.6 9.4L74 11L74 34L60 50"),
            (EDGE, WHOLE, f"M60 38C68 37 70 22 70 9{_VEST_ARM}"),
            (SEAM, AS_DRAWN, f"{_VEST_HEMS}M47.4 10C47.6 24 50 40.6 60 41C70 40.6 72.4 24 72.6 10"),
            (SEAM, BOTH, "M74.4 10.4C74 32 75.6 46 88 53"),
        ],
        slices(
            _VEST_LINE,
            ("shoulder", BOTH, 30),
            ("chest", BOTH, 68),
            ("lower_front", BOTH, 112),
            ("hem", WHOLE, 134),
        ),
        [("neckline", WHOLE, "M60 30L66 24L69 8L73.4 8L72 26L68 40L60 43")],
    ),
    back(
        [
            (EDGE, WHOLE, f"M60 22C67 22 69.6 16 70 9{_VEST_ARM}"),
            (SEAM, AS_DRAWN, f"{_VEST_HEMS}M47.4 10C47.8 18 51 25 60 25C69 25 72.2 18 72.6 10"),
            (SEAM, BOTH, "M74.4 10.4C74 32 75.6 46 88 53"),
        ],
        slices(
            _VEST_LINE,
            ("shoulder", BOTH, 30),
            ("upper_back", BOTH, 68),
            ("lower_back", BOTH, 112),
            ("hem", WHOLE, 134),
        ),
        [("neckline", WHOLE, "M60 20L66 16L69 8L73.4 8L71 20L60 27")],
    ),
)

SOFT_TOPS = (POLO, CARDIGAN, HOODIE, VEST)
