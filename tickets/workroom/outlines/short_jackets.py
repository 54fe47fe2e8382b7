"""Short jacket with a zip, and a chef's jacket: sleeves of a jumper and a shirt."""

from __future__ import annotations

from tickets.workroom.outlines.tops import (
    CUFF,
    CUFFS,
    ELBOW,
    JUMPER_CUFFS,
    JUMPER_SLEEVE,
    LONG_SLEEVE,
    UNDERARM,
    back_tiles,
    front_tiles,
)
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
)

_BODY = "L72 11L86 18C83 28 83 44 88 54L89.4 106L60 106"
_FOOT = "M60 106L89.4 106L88 116L60 116"
_STAND_INSIDE = "M60 5.4Q67 5.4 71 8L72 12L60 20"
_STAND = "M60 21L60 12.6Q67 11.6 71.4 6.4L75.4 12.6Q70 20 60 21Z"
_STAND_BEHIND = "M60 5Q67 5.4 71.4 6.6L75.4 12.6Q69 16.6 60 16.6"
_STAND_COLLAR: Row = ("collar", WHOLE, "M60 0L76 0L77 14L70 20L60 22")

SHORT_JACKET = Outline(
    "short_jacket",
    front(
        [
            (EDGE, BOTH, JUMPER_SLEEVE),
            (EDGE, BOTH, JUMPER_CUFFS),
            (EDGE, WHOLE, _STAND_INSIDE),
            (EDGE, WHOLE, f"M60 20{_BODY}"),
            (SEAM, BOTH, "M62 38L83.6 38M74 38L71 106"),
            (EDGE, BOTH, "M67 40.6L80 40.6L80 50L73.5 53.6L67 50Z"),
            (
                SEAM,
                BOTH,
                "M67 44.6L80 44.6M82.6 76L76.4 94M84.8 76.8L78.6 94.8L76.4 94M82.6 76L84.8 76.8",
            ),
            (EDGE, WHOLE, _FOOT),
            (EDGE, BOTH, _STAND),
            (EDGE, AS_DRAWN, box(58, 13, 62, 116)),
            (SEAM, AS_DRAWN, bars((58.8, 16), (58.8, 113), (2.4, 0), 34)),
        ],
        front_tiles(106),
        [
            ("zip", AS_DRAWN, box(57, 12, 63, 134)),
            _STAND_COLLAR,
            CUFF,
            ("breast_pocket", BOTH, "M66 39.6L81 39.6L81 51L73.5 55L66 51Z"),
            ("pocket", BOTH, "M81.6 74L87 75.6L80 96.6L74.6 94.6Z"),
            UNDERARM,
        ],
    ),
    back(
        [
            (EDGE, BOTH, JUMPER_SLEEVE),
            (EDGE, BOTH, JUMPER_CUFFS),
            (EDGE, WHOLE, f"M60 10{_BODY}"),
            (SEAM, AS_DRAWN, "M36.4 38L83.6 38"),
            (SEAM, BOTH, "M72 38L68 106"),
            (EDGE, WHOLE, _FOOT),
            (EDGE, BOTH, "M80 108L86 108L86 113L80 113Z"),
            (EDGE, WHOLE, _STAND_BEHIND),
        ],
        back_tiles(106),
        [
            ("collar", WHOLE, "M60 0L76 0L77 14L70 17L60 18"),
            CUFF,
            ELBOW,
            ("yoke", WHOLE, "M60 17L72 17L85.6 22L84 38L60 38"),
            UNDERARM,
        ],
    ),
)

_CHEF_BODY = "L72 11L86 18C83 28 83 44 88 54C87 72 87 92 88.5 116L60 116"

CHEF_JACKET = Outline(
    "chef_jacket",
    front(
        [
            (EDGE, BOTH, LONG_SLEEVE),
            (EDGE, BOTH, CUFFS),
            (EDGE, WHOLE, _STAND_INSIDE),
            (EDGE, WHOLE, f"M60 20{_CHEF_BODY}"),
            (SEAM, AS_DRAWN, "M60 20Q46 22 44 32L46 116"),
            (SEAM, BOTH, buttons(69, 34, 49, 64, 79, 94)),
            (EDGE, BOTH, _STAND),
        ],
        front_tiles(109),
        [
            _STAND_COLLAR,
            CUFF,
            ("button_band", AS_DRAWN, box(46, 24, 74, 104)),
            UNDERARM,
        ],
    ),
    back(
        [
            (EDGE, BOTH, LONG_SLEEVE),
            (EDGE, BOTH, CUFFS),
            (EDGE, WHOLE, f"M60 10{_CHEF_BODY}"),
            (SEAM, BOTH, "M74 15C71 50 71 86 74 116"),
            (FOLD, BOTH, "M82 116L81.6 98"),
            (EDGE, WHOLE, _STAND_BEHIND),
        ],
        back_tiles(109),
        [("collar", WHOLE, "M60 0L76 0L77 14L70 17L60 18"), CUFF, ELBOW, UNDERARM],
    ),
)

SHORT_JACKETS = (SHORT_JACKET, CHEF_JACKET)
