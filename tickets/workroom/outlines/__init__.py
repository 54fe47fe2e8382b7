"""The outlines, and which kind of piece has which."""

from __future__ import annotations

from types import MappingProxyType

from tickets.workroom.outlines.dresses import DRESSES
from tickets.workroom.outlines.household import HOUSEHOLD, PLAIN
from tickets.workroom.outlines.jackets import JACKETS
from tickets.workroom.outlines.sets import SETS
from tickets.workroom.outlines.shoes import SHOES
from tickets.workroom.outlines.short_jackets import SHORT_JACKETS
from tickets.workroom.outlines.small_pieces import SMALL_PIECES
from tickets.workroom.outlines.soft_tops import SOFT_TOPS
from tickets.workroom.outlines.tops import TOPS
from tickets.workroom.outlines.trousers import TROUSERS_AND_SKIRTS
from tickets.workroom.outlines.work_wear import WORK_WEAR
from tickets.workroom.sides import Outline

_DRAWN = (
    *TOPS,
    *SOFT_TOPS,
    *JACKETS,
    *SHORT_JACKETS,
    *SETS,
    *WORK_WEAR,
    *TROUSERS_AND_SKIRTS,
    *DRESSES,
    *SMALL_PIECES,
    SHOES,
    *HOUSEHOLD,
)

OUTLINES = MappingProxyType({outline.key: outline for outline in _DRAWN})

_KINDS = {
    "shirt": "shirt_cotton shirt_polycotton child_shirt",
    "blouse": "blouse_light",
    "jumper": "sweatshirt sweater_wool",
    "tshirt": "tshirt",
    "polo": "polo_shirt",
    "cardigan": "cardigan",
    "hoodie": "hoodie",
    "vest": "vest_undershirt",
    "jacket": "suit_jacket school_blazer uniform_metal",
    "coat": "coat_wool coat_down raincoat lab_coat coat_leather coat_sheepskin coat_fur "
    "coat_faux_fur",
    "short_jacket": "jacket_denim fleece_jacket hivis_jacket jacket_leather heated_clothing",
    "chef_jacket": "chef_jacket",
    "waistcoat": "waistcoat hivis_vest",
    "suit": "suit_2piece suit_3piece",
    "pyjamas": "pyjamas_set",
    "scrubs": "scrubs_set",
    "robe": "bathrobe_terry dressing_gown kimono",
    "coverall": "coverall",
    "apron": "apron",
    "trousers": "trousers_chino trousers_wool child_trousers trousers_leather",
    "jeans": "jeans",
    "shorts": "shorts",
    "skirt": "skirt_light skirt_heavy kilt",
    "dress": "dress_summer dress_lined nightdress christening_gown",
    "gown": "evening_dress wedding_gown gown_train",
    "tie": "tie",
    "scarf": "scarf sari",
    "duvet": "duvet_single duvet_king quilt_patchwork sleeping_bag heated_blanket",
    "pillow": "pillow pillowcase cushion_cover",
    "hat": "hat_felt hat_straw hat_fur hat_knitted cap_peaked",
    "shoes": "shoes_leather boots_leather shoes_fabric",
    "bag": "bag_leather bag_fabric rucksack",
    "curtain": "curtain_unlined_per_m2 curtain_lined_per_m2",
}

KIND_OUTLINES = MappingProxyType(
    {kind: OUTLINES[key] for key, kinds in _KINDS.items() for kind in kinds.split()}
)
"""Kind of the care tables -> its outline; every kind that is not here has the plain one."""


def outline_of(kind: str) -> Outline:
    """The outline of a kind of piece, or the plain one."""
    return KIND_OUTLINES.get(kind, PLAIN)
