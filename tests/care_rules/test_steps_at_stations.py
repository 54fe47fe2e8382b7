"""Steps that are right where they are done: bench, spotting board, washer, dryer and press.

Written as an experienced cleaner would answer (common practice, no source, unless a case names
one); the safety sentences are asserted where the worker reads them.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules.builders import keys, piece, step, steps

FULL = "wash_60 bleach_any tumble_normal iron_200 dry_clean_p"
JUMPER = "wash_30_very_mild no_bleach no_tumble flat_dry iron_110 dry_clean_p"
PRESSED: dict[str, Any] = {"services": ["clean", "press"]}


def said(decision: dict[str, Any], name: str) -> str:
    return " ".join(s["says"] for s in decision["steps"] if s["step"] == name)


@pytest.mark.parametrize("damage", ["tear", "hole", "worn_cloth"])
@pytest.mark.parametrize("work", [[], ["patch_sewn"], ["patch_iron_on"]])
def test_damage_is_made_fast_before_water_and_mended_once_after(
    damage: str, work: list[str]
) -> None:
    decision = decide_json(
        piece("cotton", FULL, damage=[damage], work=work, services=["clean", "mend"])
    )
    order = steps(decision)
    assert order.index("stabilise") < order.index("wash") < order.index("mend")
    assert (order.count("stabilise"), order.count("mend")) == (1, 1)
    assert len(said(decision, "stabilise").split(". ")) == 1


@pytest.mark.parametrize(
    ("damage", "work"), [("loose_button", "button_replace"), ("open_seam", "seam_restitch")]
)
def test_what_is_sewn_for_good_before_water_is_not_sewn_again(damage: str, work: str) -> None:
    for named in ([], [work]):
        decision = decide_json(
            piece("cotton", FULL, damage=[damage], work=named, services=["clean", "mend"])
        )
        assert "mend" not in steps(decision)
        assert len(said(decision, "stabilise").split(". ")) == 1


@pytest.mark.parametrize(
    ("symbols", "offered"), [("wash_40", True), ("no_wash dry_clean_p", False)]
)
def test_washing_first_is_offered_only_on_what_may_be_washed(symbols: str, offered: bool) -> None:
    facts = piece("cotton", symbols, services=["alter"], work=["trouser_hem_plain"])
    (caution,) = [c for c in decide_json(facts)["cautions"] if c["key"] == "route.wash_before_cut"]
    assert ("wash" in caution["do"].casefold()) is offered
    assert caution["do"]


@pytest.mark.parametrize("trim", ["knit", "velvet_cut_pile", "fused_interlining", "crepe"])
def test_no_steam_is_asked_for_where_steam_is_barred(trim: str) -> None:
    """ISO 3758:2012: one dot bars steam (from memory)."""
    symbols = "wash_30_mild no_bleach no_tumble iron_110 dry_clean_p"
    decision = decide_json(piece("polyester", symbols, trims=[trim], **PRESSED))
    assert decision["limits"]["iron"]["steam"] is False
    for asked in ("hover", "with steam", "steam it", "little steam"):
        assert asked not in said(decision, "press").casefold()


def test_where_no_iron_may_touch_nothing_is_said_of_the_iron() -> None:
    symbols = "wash_40 no_bleach no_tumble dry_clean_p"
    decision = decide_json(
        piece("cotton", symbols, trims=["velvet_cut_pile", "metal_zip"], **PRESSED)
    )
    press = step(decision, "press")
    assert (press["settings"]["max_c"], press["settings"]["steam"]) == (0, True)
    assert "Keep the iron off" not in press["says"]
    assert press["says"].startswith("Steam it without touching, no iron.")


@pytest.mark.parametrize(
    ("fibres", "colour", "cloth", "reverse"),
    [
        ("wool", "pastel", True, False), ("wool 55, polyester 45", "dark", True, False),
        ("cashmere", "white", True, False), ("cotton", "dark", False, True),
        ("polyester", "dark", False, True), ("cotton", "white", False, False),
        ("linen", "pastel", False, False),
    ],
)  # fmt: skip
def test_hair_goes_under_a_cloth_and_dark_cloth_is_pressed_from_the_reverse(
    fibres: str, colour: str, cloth: bool, reverse: bool
) -> None:
    symbols = "no_wash no_bleach no_tumble iron_150 dry_clean_p"
    decision = decide_json(piece(fibres, symbols, colour=colour, **PRESSED))
    press = step(decision, "press")
    assert (press["settings"]["press_cloth"], press["settings"]["reverse_side"]) == (cloth, reverse)
    under = "through a damp cloth" if "wool" in fibres else "through a cloth"
    assert (under in press["says"]) is cloth
    assert ("on the reverse" in press["says"]) is reverse


def test_a_tie_is_never_pressed_flat() -> None:
    tie = piece("silk", kind="tie", label={"state": "not_needed"}, colour="bright", **PRESSED)
    assert "never press it flat" in said(decide_json(tie), "press")


@pytest.mark.parametrize(
    ("fibres", "kind", "damp"),
    [("cotton", "shirt_cotton", True), ("linen", "tablecloth_150x250", True),
     ("polyester 65, cotton 35", "shirt_polycotton", True), ("polyester", "blouse_light", False),
     ("wool", "sweater_wool", False)],
)  # fmt: skip
def test_shirts_and_linen_come_out_damp_and_are_pressed_damp(
    fibres: str, kind: str, damp: bool
) -> None:
    symbols = "wash_40_mild no_bleach tumble_low iron_150 dry_clean_p"
    decision = decide_json(piece(fibres, symbols, kind=kind, **PRESSED))
    assert ("Press damp" in said(decision, "press")) is damp
    assert ("damp" in said(decision, "dry")) is damp
    unpressed = decide_json(piece(fibres, symbols, kind=kind))
    assert "damp" not in said(unpressed, "dry")


def test_net_bag_inside_out_and_alone_are_read_at_the_washer() -> None:
    facts = piece("cotton", FULL, colour="dark", trims=["lace"], hazards=["mould"])
    wash = step(decide_json(facts), "wash")["says"]
    for words in ("inside out", "in a net bag", "alone"):
        assert words in wash
    plain = step(decide_json(piece("cotton", FULL)), "wash")["says"]
    assert plain == "Wash up to 60 °C, with whites."


@pytest.mark.parametrize(
    ("hazard", "named"),
    [("body.blood", "blood or body fluid"), ("body.vomit_faeces", "vomit, faeces or urine"),
     ("mould", "mould"), ("moth", "moth holes or larvae"), ("bedbug.seen", "bedbugs seen")],
)  # fmt: skip
def test_the_partner_is_told_of_what_is_in_the_bag(hazard: str, named: str) -> None:
    """29 CFR 1910.1030(d)(4)(iv) asks for a label on contaminated laundry (from memory)."""
    symbols = "no_wash no_tumble iron_150 dry_clean_p"
    facts = piece("wool", symbols, kind="suit_jacket", hazards=[hazard], accepted=[hazard])
    sent = step(decide_json(facts), "send_out")
    assert f"Tell them of: {named}." in sent["says"]
    assert hazard in sent["because"]
    assert ("Label the bag as contaminated." in sent["says"]) is (hazard == "body.blood")


def test_blood_is_washed_alone_and_gloves_are_named_before_it_is_touched() -> None:
    """UK HSE laundry guidance: gloves, no shaking, apart from other work."""
    decision = decide_json(piece("cotton", FULL, stains=["blood"]))
    assert ", alone" in step(decision, "wash")["says"]
    first = decision["steps"][0]
    assert (first["step"], first["station"]) == ("check", "counter")
    assert "Wear gloves" in first["says"]
    assert "body.blood" in keys(decision, "hold")


def test_spotting_is_numbered_with_aids_and_minutes_and_one_line_of_what_never() -> None:
    """Blot and flush, then detergent, bleach last: university extension stain charts."""
    spot = step(decide_json(piece("cotton", FULL, stains=["red wine"])), "pre_spot")["says"]
    assert spot == (
        "Red wine: 1) blot and flush it cool from the back; 2) tamp in liquid detergent, 5 min; "
        "3) soak it in oxygen bleach, 15 min, water up to 60 °C. "
        "Forbidden here: soap, hot iron, rubbing."
    )
    wool = step(decide_json(piece("wool", JUMPER, stains=["egg"])), "pre_spot")["says"]
    assert "2) tamp in liquid detergent, 5 min, water up to 30 °C." in wool
    assert "Forbidden here: enzyme soak, household ammonia, hot water" in wool


@pytest.mark.parametrize("kind", ["suit_2piece", "suit_3piece"])
def test_the_parts_of_a_suit_are_cleaned_alike(kind: str) -> None:
    symbols = "no_wash no_bleach no_tumble iron_150 dry_clean_p"
    decision = decide_json(piece("wool", symbols, kind=kind, colour="dark"))
    assert "Clean its parts together" in said(decision, "check")


def test_a_single_jacket_is_asked_for_its_other_half() -> None:
    symbols = "no_wash no_bleach no_tumble iron_150 dry_clean_p"
    decision = decide_json(piece("wool", symbols, kind="suit_jacket", colour="dark"))
    (caution,) = [c for c in decision["cautions"] if c["key"] == "label_rule.suit_alike"]
    assert "trousers" in caution["do"]
