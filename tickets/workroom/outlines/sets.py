"""Sets that are laid out as one piece: suit, pyjamas and scrubs."""

from __future__ import annotations

from tickets.workroom.outlines.jackets import JACKET
from tickets.workroom.outlines.tops import SHIRT, TSHIRT
from tickets.workroom.outlines.trousers import BAND, LEGS, TROUSERS, WAISTBAND, leg_tiles
from tickets.workroom.sides import (
    AS_DRAWN,
    BOTH,
    EDGE,
    SEAM,
    WHOLE,
    Outline,
    Row,
    back,
    bars,
    front,
    laid_below,
)

_GATHERS: Row = (SEAM, AS_DRAWN, bars((41, 7.5), (79, 7.5), (0, 3.4), 14))
_HEMS: Row = (SEAM, BOTH, "M65.8 124L87 124")

_SOFT_TROUSERS = Outline(
    "soft_trousers",
    front(
        [
            (EDGE, WHOLE, LEGS),
            (SEAM, AS_DRAWN, "M60 13L60 55"),
            _HEMS,
            (EDGE, WHOLE, BAND),
            _GATHERS,
            (SEAM, BOTH, "M61 12.5C66 15 67 20 65 26"),
        ],
        leg_tiles("hip"),
        [WAISTBAND],
    ),
    back(
        [
            (EDGE, WHOLE, LEGS),
            (SEAM, AS_DRAWN, "M60 13C60.6 30 61 44 60 55"),
            _HEMS,
            (EDGE, WHOLE, BAND),
            _GATHERS,
        ],
        leg_tiles("seat"),
        [WAISTBAND],
    ),
)

_LOWER_NAMES = {"hem": "leg_hem", "pocket": "trouser_pocket"}

SUIT = laid_below("suit", JACKET, TROUSERS, _LOWER_NAMES)
PYJAMAS = laid_below("pyjamas", SHIRT, _SOFT_TROUSERS, _LOWER_NAMES)
SCRUBS = laid_below("scrubs", TSHIRT, _SOFT_TROUSERS, _LOWER_NAMES)

SETS = (SUIT, PYJAMAS, SCRUBS)
