"""Shirt, blouse, jumper, T-shirt and their kin."""

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
    buttons,
    front,
    slices,
)

ARMHOLE = [(86.0, 0.0), (86.0, 18.0), (84.0, 36.0), (88.0, 54.0), (94.0, 134.0)]
"""From the shoulder over the armpit down beside the body."""

SLEEVE_TILE: Row = ("sleeve", BOTH, "M86 0L86 18L84 36L88 54L94 134L120 134L120 0Z")
UNDERARM: Row = ("underarm", BOTH, "M84 44L94 44L94 64L80 64L80 50Z")
ELBOW: Row = ("elbow", BOTH, "M92 66L110 62L114 78L96 82Z")
CUFF: Row = ("cuff", BOTH, "M98 95L118 89L120 112L100 112Z")
COLLAR: Row = ("collar", WHOLE, "M60 0L78 0L79 18L69 30L60 30")

LONG_SLEEVE = "M86 18C91 20 94 25 96 32L114 94L101 98L88 54L78 36Z"
CUFFS = "M102.5 97.5L113 94.3L115.5 104L104.5 107Z"


def front_tiles(hem: float) -> list[Row]:
    return [
        SLEEVE_TILE,
        *slices(
            ARMHOLE,
            ("shoulder", BOTH, 27),
            ("chest", BOTH, 67.5),
            ("lower_front", BOTH, hem),
            ("hem", WHOLE, 134),
        ),
    ]


def back_tiles(hem: float) -> list[Row]:
    return [
        SLEEVE_TILE,
        *slices(
            ARMHOLE,
            ("shoulder", BOTH, 27),
            ("upper_back", BOTH, 67.5),
            ("lower_back", BOTH, hem),
            ("hem", WHOLE, 134),
        ),
    ]


_SHIRT_BODY = "L86 18C83 28 83 44 88 54C87 72 87 92 88.5 112C82 118 72 124 60 124"
COLLAR_LEAF = "M60 22L70.5 9Q74 9.5 75.5 13L79 19L69 31Z"
COLLAR_INSIDE = "M60 7Q67 7.5 71 11L60 22"
COLLAR_BEHIND = "M60 6Q69 6.5 73 11L76.5 18Q69 22 60 22"

SHIRT = Outline(
    "shirt",
    front(
        [
            (EDGE, BOTH, LONG_SLEEVE),
            (EDGE, BOTH, CUFFS),
            (EDGE, WHOLE, f"M60 22L71 11{_SHIRT_BODY}"),
            (SEAM, AS_DRAWN, "M56.5 25L56.5 123.6M63.5 25L63.5 123.6"),
            (SEAM, AS_DRAWN, buttons(60, 33, 49, 65, 81, 97, 112)),
            (SEAM, AS_DRAWN, "M68 46L82 46L82 59L75 63L68 59ZM68 49.5L82 49.5"),
            (EDGE, WHOLE, COLLAR_INSIDE),
            (EDGE, BOTH, COLLAR_LEAF),
        ],
        front_tiles(114),
        [
            COLLAR,
            CUFF,
            ("left_pocket", AS_DRAWN, "M68 46L82 46L82 59L75 63L68 59Z"),
            ("button_band", AS_DRAWN, box(56.5, 22, 63.5, 134)),
            UNDERARM,
        ],
    ),
    back(
        [
            (EDGE, BOTH, LONG_SLEEVE),
            (EDGE, BOTH, CUFFS),
            (SEAM, BOTH, "M107.6 96L105.4 86"),
            (EDGE, WHOLE, f"M60 10L71 11{_SHIRT_BODY}"),
            (SEAM, AS_DRAWN, "M35.7 33Q60 36.5 84.3 33"),
            (FOLD, AS_DRAWN, "M56.5 35L57.5 80M63.5 35L62.5 80"),
            (EDGE, WHOLE, COLLAR_BEHIND),
        ],
        back_tiles(114),
        [COLLAR, CUFF, ELBOW, ("yoke", WHOLE, "M60 21L85 21L84 33L60 36"), UNDERARM],
    ),
)

_BLOUSE_SLEEVE = (
    "M86 18C93 19 97 25 98 32C102 52 112 72 116 92C112 97 106 99 100 98C97 84 92 68 88 54L78 36Z"
)
_ROUND_COLLAR = "M60 31C64 23 67 16 70 9C75 11 79 15 80 20C80 29 72 36 65 36C62 35 61 33 60 31Z"
_BLOUSE_CUFFS = "M103 98.6L112.6 95.4L114.2 101.4L105 104.6Z"
_BLOUSE_BODY = "L86 18C83 28 83 44 88 54C84 68 83 76 84 84C86 96 89 106 91 116Q76 122 60 122"

BLOUSE = Outline(
    "blouse",
    front(
        [
            (EDGE, BOTH, _BLOUSE_SLEEVE),
            (EDGE, BOTH, _BLOUSE_CUFFS),
            (SEAM, BOTH, bars((104.5, 97.6), (111, 95.4), (-1.4, -5), 4)),
            (EDGE, WHOLE, f"M60 30L71 11{_BLOUSE_BODY}"),
            (SEAM, AS_DRAWN, "M60 32L60 122"),
            (SEAM, AS_DRAWN, buttons(60, 46, 60, 74, 88, 102)),
            (SEAM, BOTH, "M74 68C72 78 72 90 74 104"),
            (EDGE, WHOLE, "M60 8Q67 8.5 71 11L60 30"),
            (EDGE, BOTH, _ROUND_COLLAR),
        ],
        front_tiles(114),
        [COLLAR, CUFF, ("button_band", AS_DRAWN, box(57, 30, 63, 134)), UNDERARM],
    ),
    back(
        [
            (EDGE, BOTH, _BLOUSE_SLEEVE),
            (EDGE, BOTH, _BLOUSE_CUFFS),
            (SEAM, BOTH, bars((104.5, 97.6), (111, 95.4), (-1.4, -5), 4)),
            (EDGE, WHOLE, f"M60 10L71 11{_BLOUSE_BODY}"),
            (SEAM, BOTH, "M72 36C70 60 70 86 73 110"),
            (SEAM, AS_DRAWN, "M60 24L60 122"),
            (EDGE, WHOLE, "M60 7Q69 7.5 73 11C77 13 80 17 80 21Q71 27 60 27"),
        ],
        back_tiles(114),
        [COLLAR, CUFF, ELBOW, UNDERARM],
    ),
)

JUMPER_SLEEVE = "M86 18C92 20 95 25 97 32L115 93L101 98L88 54L78 36Z"
JUMPER_CUFFS = "M102 97.6L114 93.4L116 103L104.8 107Z"
JUMPER_CUFF_RIBS = bars((104.6, 97.4), (112, 94.8), (2, 8.6), 5)
JUMPER_BODY = "L86 18C83 28 83 44 88 54L89 112L60 112"
JUMPER_HEM = "M60 112L88.4 112L86.6 124L60 124"
JUMPER_HEM_RIBS = bars((36, 113.6), (84, 113.6), (0, 8.8), 17)
_NECKBAND = "M60 8.6Q68 8.6 74.4 11.6C74 22 69 28.6 60 28.6"
_NECK = "M60 8.6Q65.8 8.6 69.6 9.6C69 17.6 66 22.4 60 22.4"
BACK_NECKBAND: Row = ("neckband", WHOLE, "M60 0L80 0L80 14L70 18L60 18")
_NECK_RIBS: Row = ("neckband", WHOLE, "M60 0L80 0L80 14L70 30L60 30")

JUMPER = Outline(
    "jumper",
    front(
        [
            (EDGE, BOTH, JUMPER_SLEEVE),
            (EDGE, BOTH, JUMPER_CUFFS),
            (SEAM, BOTH, JUMPER_CUFF_RIBS),
            (EDGE, WHOLE, f"M60 24L72 11{JUMPER_BODY}"),
            (EDGE, WHOLE, JUMPER_HEM),
            (SEAM, AS_DRAWN, JUMPER_HEM_RIBS),
            (EDGE, WHOLE, _NECKBAND),
            (
                SEAM,
                BOTH,
                "M62 23.4L62.6 27.4M65.6 22L67.4 25.8M68.2 18.6L71.4 21.2M69.4 14L73 15.4",
            ),
            (EDGE, WHOLE, _NECK),
            (SEAM, AS_DRAWN, "M51 12Q60 15.5 69 12"),
        ],
        front_tiles(112),
        [_NECK_RIBS, CUFF, UNDERARM],
    ),
    back(
        [
            (EDGE, BOTH, JUMPER_SLEEVE),
            (EDGE, BOTH, JUMPER_CUFFS),
            (SEAM, BOTH, JUMPER_CUFF_RIBS),
            (EDGE, WHOLE, f"M60 13Q67 13 72 11{JUMPER_BODY}"),
            (EDGE, WHOLE, JUMPER_HEM),
            (SEAM, AS_DRAWN, JUMPER_HEM_RIBS),
            (SEAM, AS_DRAWN, "M35 21Q60 27 85 21"),
            (EDGE, WHOLE, "M60 9.5Q66 9.5 70 8L75 12.2Q69 16.4 60 16.4"),
            (SEAM, AS_DRAWN, bars((50, 10), (70, 10), (0, 5), 6)),
        ],
        back_tiles(112),
        [BACK_NECKBAND, CUFF, ELBOW, UNDERARM],
    ),
)

SHORT_SLEEVE = "M86 18C93 20 97 26 100 33L111 58L92 66L88 54L78 36Z"
SHORT_SLEEVE_HEM = "M109.2 54L90.6 61.8"
TSHIRT_BODY = "L86 18C83 28 83 44 88 54L89 115L60 115"
SHORT_CUFF: Row = ("sleeve_hem", BOTH, "M88 61.4L120 48.6L120 70L90 70Z")

TSHIRT = Outline(
    "tshirt",
    front(
        [
            (EDGE, BOTH, SHORT_SLEEVE),
            (SEAM, BOTH, SHORT_SLEEVE_HEM),
            (EDGE, WHOLE, f"M60 24L72 11{TSHIRT_BODY}"),
            (SEAM, AS_DRAWN, "M31 111L89 111"),
            (EDGE, WHOLE, _NECKBAND),
            (EDGE, WHOLE, "M60 9Q66.6 9 71 10C70.4 19 66.5 25 60 25"),
            (SEAM, AS_DRAWN, "M49.4 12Q60 15.5 70.6 12"),
        ],
        front_tiles(108),
        [_NECK_RIBS, SHORT_CUFF, UNDERARM],
    ),
    back(
        [
            (EDGE, BOTH, SHORT_SLEEVE),
            (SEAM, BOTH, SHORT_SLEEVE_HEM),
            (EDGE, WHOLE, f"M60 14Q67 14 72 11{TSHIRT_BODY}"),
            (SEAM, AS_DRAWN, "M31 111L89 111"),
            (SEAM, AS_DRAWN, "M36.4 19.8Q60 26 83.6 19.8"),
            (EDGE, WHOLE, "M60 12.5Q66 12.5 71 9.6L74.4 12Q68 16.6 60 16.6"),
        ],
        back_tiles(108),
        [BACK_NECKBAND, SHORT_CUFF, UNDERARM],
    ),
)

TOPS = (SHIRT, BLOUSE, JUMPER, TSHIRT)
