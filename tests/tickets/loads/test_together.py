"""Who may share a drum, in whole sentences, and what a piece would change in a load."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import care_rules
from care_rules.tables import book
from tests.care_rules.builders import decided
from tests.tickets.loads.days import wardrobe
from tickets.loads.care import dry_stage, load_piece_from, may_tumble
from tickets.loads.items import DRY, SEND_OUT, LoadItem
from tickets.loads.load_roles import roles
from tickets.loads.together import (
    effect_of_adding,
    may_share,
    programme_for,
    shares,
    why_not_run,
)
from tickets.shop.machine_facts import MachineFacts, dryer_programmes, usual_programmes

SHIRT = LoadItem("100000101", 100, 220, max_c=60, cloth="cotton_white")
JEANS = LoadItem("100000201", 100, 700, colour_group="dark", heavy=True, hardware=True)
SILK = LoadItem("100000301", 100, 130, max_c=30, action=2, spin=1, colour_group="dark", fine=True)
HOODIE = LoadItem("100000401", 100, 600, colour_group="dark", hardware=True)
WASHER = MachineFacts("washer-1", "washer", 100.0, usual_programmes())


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"group": "hygiene"}, "A piece with a hygiene caution runs apart from all others."),
        ({"group": "pesticide"}, "A piece with pesticide on it runs apart from all others."),
        ({"group": "flame_resistant"}, "A flame-resistant piece runs only with its like."),
        ({"alone": True}, "One of them must run alone."),
        (
            {"fragrance_free": True},
            "A fragrance-free customer's piece would take scent from the other.",
        ),
        ({"colour_group": "dark"}, "Colours of the groups dark and white stay apart."),
        (
            {"colour_group": "light", "bleeds": 30},
            "One of them stains others: only its own colour group may join it.",
        ),
        ({"process": "wet_clean"}, "One goes to machine wash, the other to wet clean."),
        ({"stage": DRY}, "They wait for different machines."),
    ],
)
def test_two_pieces_stay_apart_for_a_reason_in_one_sentence(
    changes: dict[str, Any], says: str
) -> None:
    other = replace(SHIRT, code="100000102", **changes)
    assert may_share(SHIRT, other).says == may_share(other, SHIRT).says == says
    assert (may_share(SHIRT, other).may, shares(SHIRT, other)) == (False, False)


@pytest.mark.parametrize(("grade", "may"), [(35, False), (40, True)])
def test_a_staining_grade_of_3_4_is_the_last_that_keeps_to_its_own_shade(
    grade: int, may: bool
) -> None:
    """Grades as ISO 105-A03 has them, ten times: 3-4 is 35, 4 is 40."""
    light = replace(SHIRT, code="100000102", colour_group="light", bleeds=grade)
    assert (may_share(SHIRT, light).may, shares(light, SHIRT)) == (may, may)
    assert may_share(light, replace(light, code="3")).may
    weaker = replace(light, code="4", colour_group="white", bleeds=45)
    assert shares(light, weaker) == may  # the one that stains more decides


def test_fluff_and_heavy_cloth_keep_apart() -> None:
    towel = replace(SHIRT, code="100000501", lint="giver")
    velvet = replace(SHIRT, code="100000601", lint="receiver")
    assert may_share(towel, velvet).says == "One sheds fluff and the other shows it."
    assert may_share(JEANS, SILK).says == "Heavy cloth would beat the fine piece."


def test_hardware_beside_fine_cloth_is_resolved_by_a_step() -> None:
    assert may_share(HOODIE, SILK).steps == ("Put 100000301 into a mesh bag.",)
    assert may_share(replace(HOODIE, inside_out=True), SILK).steps == (
        "Close 100000401 and turn it inside out, so that no metal rubs.",
    )
    assert may_share(SILK, replace(HOODIE, code="9")).may
    assert may_share(HOODIE, replace(SILK, mesh_bag=True)).steps == (
        "Keep 100000301 in its mesh bag.",
    )


def test_a_piece_without_softener_takes_it_from_the_whole_load() -> None:
    assert may_share(SHIRT, replace(SHIRT, code="2", softener=False)).steps == (
        "Leave softener out of this load.",
    )


def test_the_programme_is_what_no_piece_forbids() -> None:
    cool = replace(SHIRT, code="2", max_c=40)
    mild = replace(SHIRT, code="3", max_c=60, action=1, spin=1)

    def words(*pieces: LoadItem) -> str:
        programme = programme_for(pieces, WASHER)
        assert programme is not None
        return programme.words

    assert words(SHIRT) == "60 °C, normal"
    assert words(SHIRT, cool) == "40 °C, normal"
    assert words(SHIRT, cool, mild) == "40 °C, mild"
    assert programme_for([replace(SHIRT, hand_only=True)], WASHER) is None


def test_the_crew_is_told_what_a_piece_would_change() -> None:
    wool = replace(SHIRT, code="2", max_c=30, action=2, spin=1)
    assert effect_of_adding([SHIRT], wool, WASHER).says == (
        "Adding this drops the load to 30 °C, very mild."
    )
    assert effect_of_adding([SHIRT], replace(SHIRT, code="3"), WASHER).says == (
        "The load stays at 60 °C, normal."
    )
    assert effect_of_adding([], SHIRT, WASHER).says == "The load runs at 60 °C, normal."
    refused = effect_of_adding([SHIRT], JEANS, WASHER)
    assert (refused.may, refused.says) == (
        False,
        "Not with 100000101: Colours of the groups dark and white stay apart.",
    )
    too_much = effect_of_adding([SHIRT], replace(SHIRT, code="4", grams=9_800), WASHER)
    assert (too_much.may, too_much.says) == (
        False,
        "60 °C, normal needs 101 l of drum; washer-1 has 100 l.",
    )


def test_filled_pieces_take_at_most_six_tenths_of_a_drum() -> None:
    """Row load.filled_max: common practice, no source. 3.1 kg at 20 l/kg is 62 of 100 litres."""
    duvet = replace(SHIRT, grams=3_000, filled=True, cloth="duvet_filled")
    assert why_not_run([duvet], WASHER) == ""
    assert why_not_run([replace(duvet, grams=3_100)], WASHER) == (
        "Filled pieces would take more than their share of washer-1."
    )


def test_in_the_dryer_the_gentler_setting_rules() -> None:
    dryer = MachineFacts("dryer", "dryer", 200.0, dryer_programmes())
    warm, low = replace(SHIRT, tumble=0), replace(SHIRT, code="2", tumble=1)
    pieces = [dry_stage(piece, 50) for piece in (warm, low)]
    assert may_share(*pieces).may
    assert programme_for(pieces, dryer) == dryer_programmes()[1]
    assert not may_tumble(SHIRT)
    with pytest.raises(ValueError, match="hang it or lay it flat"):
        dry_stage(SHIRT, 50)


def test_a_bag_to_a_partner_asks_only_for_clean_company() -> None:
    suit = replace(SHIRT, stage=SEND_OUT, where="send_out", process="dry_clean")
    dark = replace(suit, code="2", colour_group="dark", heavy=True)
    assert may_share(suit, dark).may
    assert not may_share(suit, replace(dark, group="hygiene")).may


def facts(kind: str, colour: str, fibre: str, **more: object) -> dict[str, Any]:
    symbols = more.pop("symbols", ["wash_60", "no_bleach", "tumble_low", "no_dry_clean"])
    return {
        "kind": kind,
        "construction": "woven",
        "colour": colour,
        "components": [{"part": "shell", "fibres": [{"fibre": fibre, "percent": 100}]}],
        "label": {"state": "read", "symbols": symbols},
        **more,
    }


def piece(garment: dict[str, Any], grams: int = 0) -> LoadItem:
    holds = [caution.key for caution in decided(garment).cautions if caution.level == "hold"]
    garment = {**garment, "accepted": sorted(holds)}
    return load_piece_from(
        decided(garment), care_rules.read_facts(garment), grams, 100, "100000101"
    )


def test_a_decision_becomes_a_piece_of_a_load() -> None:
    towel = piece(facts("towel_bath_70x140", "white", "cotton", trims=["terry_pile"]))
    assert (towel.grams, towel.max_c, towel.lint, towel.cloth) == (500, 60, "giver", "terry")
    jeans = piece(facts("jeans", "dark", "cotton", trims=["metal_zip"]), grams=640)
    assert (jeans.grams, jeans.colour_group, jeans.heavy, jeans.hardware, jeans.cloth) == (
        640,
        "dark",
        True,
        True,
        "denim",
    )
    fleece = piece(facts("sweatshirt", "dark", "polyester"))
    assert (fleece.lint, fleece.cloth) == ("receiver", "polyester")
    stained = piece(facts("skirt_light", "bright", "cotton", trims=["grade_stain_3_4"]))
    assert stained.bleeds == 35


def test_hazards_set_pieces_apart() -> None:
    assert piece(facts("coverall", "dark", "cotton", hazards=["fr.workwear"])).group == (
        "flame_resistant"
    )
    assert piece(facts("shirt_cotton", "white", "cotton", hazards=["body.blood"])).group == (
        "hygiene"
    )
    baby = piece(facts("baby_bodysuit", "white", "cotton", hazards=["allergy.residue"]))
    assert (baby.fragrance_free, baby.softener) == (True, False)


def test_a_piece_that_is_not_accepted_goes_into_no_load() -> None:
    garment = facts("shirt_cotton", "white", "cotton", hazards=["body.blood"])
    decision = decided(garment)
    with pytest.raises(ValueError, match="load only accepted pieces"):
        load_piece_from(decision, care_rules.read_facts(garment), 0, 100, "100000101")


def test_the_planners_answer_never_allows_what_the_care_rules_forbid() -> None:
    """Over all pairs of a wardrobe decided by the engine."""
    decided = [
        (load_piece_from(decision, garment, 0, 100, f"{number:09d}"), decision)
        for number, (_, garment, decision) in enumerate(wardrobe())
    ]
    asked = 0
    for a, first in decided:
        for b, second in decided:
            if shares(a, b):
                asked += 1
                assert care_rules.may_share_load(first, second)[0]
            assert shares(a, b) == shares(b, a) == may_share(a, b).may
    assert asked > 100


def test_every_role_names_a_key_of_the_care_tables() -> None:
    tables = book()
    known = {
        "kind": set(tables["kinds"]),
        "trim": set(tables["trims"]) | set(tables["colours"]),
        "fibre": set(tables["fibres"]),
        "family": {row.cells["family"] for row in tables["fibres"].values()},
        "construction": set(tables["constructions"]),
    }
    strangers = [(on, key) for on, key, _ in roles() if on != "hazard" and key not in known[on]]
    assert strangers == []
    hazards = [key for on, key, _ in roles() if on == "hazard"]
    assert all(any(known.startswith(key) for known in tables["hazards"]) for key in hazards)
