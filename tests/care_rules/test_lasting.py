"""Advice for home is that of the piece itself: the same whatever happened to it and is asked."""

from __future__ import annotations

from typing import Any

from hypothesis import given

from care_rules import HouseRule, decide, parse_facts
from care_rules.tables import book
from tests.care_rules.builders import piece
from tests.care_rules.strategies import QUICK, facts

OF_THE_PIECE = ("fr", "hivis", "ppe", "child")
FULL = "wash_60 bleach_any tumble_normal iron_200 dry_clean_p"


def unspoilt(garment: dict[str, Any]) -> dict[str, Any]:
    """The same piece without a stain, tear or danger of today, only to be cleaned."""
    hazards = garment.get("hazards", [])
    lasting = [key for key in hazards if book()["hazards"][key].cells["topic"] in OF_THE_PIECE]
    today: dict[str, list[str]] = {"stains": [], "damage": [], "work": [], "accepted": []}
    return garment | today | {"hazards": lasting, "services": ["clean"]}


@QUICK
@given(facts())
def test_what_happened_to_a_piece_changes_no_word_of_its_advice(garment: dict[str, Any]) -> None:
    today, alone = decide(parse_facts(garment)), decide(parse_facts(unspoilt(garment)))
    if "decline" not in (today.outcome, alone.outcome):
        assert today.home == alone.home


def test_a_stain_that_forbids_oxygen_bleach_today_leaves_it_to_the_label_at_home() -> None:
    rusty = decide(parse_facts(piece("cotton", FULL, stains=["rust"])))
    clean = decide(parse_facts(piece("cotton", FULL)))
    assert rusty.limits.bleach != clean.limits.bleach
    assert rusty.home == clean.home


def test_what_is_sewn_on_a_piece_is_no_advice_for_home() -> None:
    pyjamas = piece("cotton", FULL, kind="pyjamas_set", wearer="child")
    sewn = decide(parse_facts(pyjamas | {"services": ["clean", "alter"]}))
    assert sewn.home == decide(parse_facts(pyjamas)).home


def test_a_rule_of_the_house_binds_the_house_and_not_the_customer() -> None:
    cool = HouseRule("house.cool", "fibre.cotton", "The machine runs hot.", "wash.max_c=20")
    garment = parse_facts(piece("cotton", FULL))
    bound = decide(garment, [cool])
    assert bound.limits.wash.max_c == 20
    assert bound.home == decide(garment).home


def test_what_a_hazard_says_of_the_piece_itself_stays() -> None:
    """Chlorine takes the finish of flame-resistant workwear (common practice, no source)."""
    garment = piece("cotton", FULL, hazards=["fr.workwear"])
    soiled = garment | {"stains": [{"stain": "blood"}], "damage": ["tear"]}
    assert decide(parse_facts(soiled)).home == decide(parse_facts(garment)).home
    assert decide(parse_facts(garment)).home != decide(parse_facts(piece("cotton", FULL))).home
