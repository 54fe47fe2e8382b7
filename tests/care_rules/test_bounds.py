"""How far a whole class of kinds, makings or stains may go at most, whatever stands in its row.

Common practice, no source, unless a test names one: a tailored piece waits for its label, skin
meets nothing, what holds a cell or a foam meets no heat, fat and spirit never meet a dryer.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules.builders import piece
from tests.care_rules.severity import flat, strictness
from tests.care_rules.test_second_hand import ALLOWING_ALL

NOTHING: dict[str, Any] = {
    "wash.allowed": False, "wet_clean.allowed": False, "bleach": "none", "tumble": "none",
    "iron.max_c": 0, "iron.steam": False, "dry_clean.solvents": [],
}  # fmt: skip
DRY_AND_FLAT: dict[str, Any] = {
    "wash.allowed": False, "tumble": "none", "iron.max_c": 0, "dry_clean.solvents": [],
}  # fmt: skip
NO_WATER: dict[str, Any] = {"wash.allowed": False, "wet_clean.allowed": False}
BY_HAND: dict[str, Any] = {"wash.hand_only": True}
COOL_BY_HAND: dict[str, Any] = {"wash.hand_only": True, "wash.max_c": 30, "bleach": "none"}

#: What a kind may have at most while no label speaks of it.
SILENT: list[tuple[str, dict[str, Any]]] = [
    ("suit_jacket suit_2piece suit_3piece waistcoat coat_wool school_blazer tie trousers_wool "
     "kilt kimono uniform_metal", NO_WATER),
    ("jacket_leather coat_leather coat_sheepskin trousers_leather coat_fur hat_fur gloves_leather "
     "shoes_leather boots_leather bag_leather", NOTHING),
    ("rug_wool rug_cotton rug_synthetic rug_viscose rug_silk rug_plant rug_sheepskin hat_felt "
     "hat_straw", DRY_AND_FLAT),
    ("dress_lined evening_dress wedding_gown gown_train", BY_HAND),
    ("christening_gown quilt_patchwork", COOL_BY_HAND | {"tumble": "none"}),
    ("sari bag_fabric rucksack cap_peaked tent", COOL_BY_HAND),
    ("soft_toy heated_clothing heated_blanket tent rucksack shoes_fabric",
     {"tumble": "none", "iron.max_c": 0, "dry_clean.solvents": []}),
    ("sleeping_bag", {"wash.max_c": 30, "iron.max_c": 0, "dry_clean.solvents": []}),
    ("coat_faux_fur", {"wash.max_c": 30, "tumble": "none", "iron.max_c": 0}),
    ("sofa_cover chair_cover", {"wash.max_c": 30, "tumble": "none"}),
]  # fmt: skip

#: And under a label that allows everything.
LABELLED: list[tuple[str, dict[str, Any]]] = [
    ("jacket_leather coat_leather coat_sheepskin trousers_leather coat_fur hat_fur gloves_leather "
     "shoes_leather boots_leather bag_leather", NOTHING),
    ("heated_clothing heated_blanket",
     {"bleach": "none", "iron.max_c": 0, "dry_clean.solvents": []}),
    ("hat_felt hat_straw shoes_fabric", {"tumble": "none", "iron.max_c": 0}),
    ("hivis_vest hivis_jacket", {"bleach": "none", "tumble": "low"}),
    ("tent", {"bleach": "none", "tumble": "none", "iron.max_c": 0, "dry_clean.solvents": []}),
    ("sleeping_bag rucksack soft_toy", {"dry_clean.solvents": []}),
    ("coat_faux_fur", {"tumble": "none", "iron.max_c": 0, "iron.steam": False}),
    ("christening_gown rug_sheepskin", {"tumble": "none"}),
    ("bra socks_pair uniform_metal", {"bleach": "oxygen"}),
]  # fmt: skip


def each(bounds: list[tuple[str, dict[str, Any]]]) -> list[tuple[str, dict[str, Any]]]:
    return [(kind, most) for kinds, most in bounds for kind in kinds.split()]


def past(facts: dict[str, Any], most: dict[str, Any]) -> list[str]:
    limits = flat(decide_json(facts))
    return [
        path
        for path, value in most.items()
        if strictness(path, limits[path]) < strictness(path, value)
    ]


@pytest.mark.parametrize(("kind", "most"), each(SILENT))
def test_a_kind_without_a_label_goes_no_further_than_its_class(
    kind: str, most: dict[str, Any]
) -> None:
    assert past(piece("cotton", kind=kind, construction="woven"), most) == []


@pytest.mark.parametrize(("kind", "most"), each(LABELLED))
def test_no_label_takes_a_kind_past_its_class(kind: str, most: dict[str, Any]) -> None:
    facts = piece("cotton", kind=kind, construction="woven", label=ALLOWING_ALL)
    assert past(facts, most) == []


@pytest.mark.parametrize(
    ("making", "most"),
    [("skin", NOTHING), ("nonwoven", {"wash.action": "mild", "iron.max_c": 110})],
)
def test_what_cloth_is_made_of_bounds_it_too(making: str, most: dict[str, Any]) -> None:
    assert past(piece("cotton", construction=making, label=ALLOWING_ALL), most) == []


@pytest.mark.parametrize(
    "stain",
    ["butter, mayonnaise, salad dressing", "cooking oil", "massage oil", "motor oil, grease",
     "candle wax", "nail polish", "ballpoint ink", "lipstick", "oil paint, varnish",
     "tar, asphalt", "dye transfer in wash"],
)  # fmt: skip
def test_fat_spirit_and_loose_dye_never_meet_a_dryer(stain: str) -> None:
    """UK fire services on oily laundry in dryers; extension stain guides."""
    assert past(piece("cotton", label=ALLOWING_ALL, stains=[stain]), {"tumble": "none"}) == []


@pytest.mark.parametrize(
    ("damage", "most"),
    [("tear", {"wash.action": "mild", "wash.spin": "reduced", "load.mesh_bag": True}),
     ("hole", {"wash.action": "mild", "wash.spin": "reduced", "load.mesh_bag": True}),
     ("open_seam", {"load.mesh_bag": True}),
     ("worn_cloth", {"wash.action": "very_mild", "wash.spin": "reduced", "load.mesh_bag": True})],
)  # fmt: skip
def test_what_is_torn_or_thin_goes_in_a_net_and_gently(damage: str, most: dict[str, Any]) -> None:
    assert past(piece("cotton", label=ALLOWING_ALL, damage=[damage]), most) == []


@pytest.mark.parametrize("colour", ["bright", "dark", "pastel", "mixed", "unknown"])
def test_no_coloured_cloth_meets_chlorine(colour: str) -> None:
    assert past(piece("cotton", label=ALLOWING_ALL, colour=colour), {"bleach": "oxygen"}) == []


@pytest.mark.parametrize("colour", ["bright", "dark", "mixed", "unknown"])
def test_coloured_cloth_without_a_label_stays_cool(colour: str) -> None:
    most = {"wash.max_c": 40, "bleach": "none"}
    assert past(piece("cotton", colour=colour), most) == []


@pytest.mark.parametrize(
    ("hazard", "most"),
    [("fr.workwear", {"bleach": "none", "load.softener": False}),
     ("child.sleepwear", {"bleach": "oxygen", "load.softener": False}),
     ("body.blood", {"load.alone": True}), ("body.vomit_faeces", {"load.alone": True}),
     ("pest.field", {"load.alone": True}), ("mould", {"load.alone": True}),
     ("body.norovirus_house", {"load.alone": True}), ("bedbug.seen", {"load.alone": True}),
     ("fire.oil_selfheat", {"tumble": "none"}), ("fire.foam_rubber", {"tumble": "none"}),
     ("mix.bleach_acid", {"bleach": "none"}), ("mix.bleach_ammonia", {"bleach": "none"})],
)  # fmt: skip
def test_a_hazard_bounds_the_load_and_the_treatment(hazard: str, most: dict[str, Any]) -> None:
    """16 CFR 1615, NFPA 2113 user information (memory), UK HSE and fire services; practice."""
    assert past(piece("cotton", label=ALLOWING_ALL, hazards=[hazard]), most) == []
