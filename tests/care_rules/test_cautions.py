"""Hazards, stains, trims, damage, mending order and the strengths of limits, case by case."""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import Facts, decide_json, parse_facts, reading_notes
from care_rules.tables import book
from tests.care_rules.builders import SHOP, keys, piece, step, steps
from tests.care_rules.severity import flat

FULL = "wash_60 bleach_any tumble_normal line_dry iron_200 dry_clean_p wet_clean_w"


def level(decision: dict[str, Any], key: str) -> tuple[str, str]:
    (caution,) = [c for c in decision["cautions"] if c["key"] == key]
    return caution["level"], caution["scope"]


@pytest.mark.parametrize("hazard", sorted(book()["hazards"]))
def test_a_hazard_told_is_a_caution_with_its_level_action_and_who_to_heed(hazard: str) -> None:
    row = book()["hazards"][hazard]
    decision = decide_json(piece("cotton", FULL, hazards=[hazard]))
    (caution,) = [c for c in decision["cautions"] if c["key"] == hazard]
    assert (caution["level"], caution["scope"]) == (row.level, row.scope)
    assert caution["do"] == row.cells["do"] != ""
    assert caution["defer_to"] == row.cells["defer_to"]
    if (row.level, row.scope) == ("refuse", "piece"):
        assert (decision["outcome"], decision["steps"]) == ("decline", [])
    elif row.level == "hold":
        assert decision["outcome"] == "ask"
        again = decide_json(piece("cotton", FULL, hazards=[hazard], accepted=[hazard]))
        assert again["outcome"] == "accept"


DECLINED = [
    "fire.drying_oil", "fire.fuel_clothes", "body.healthcare_linen", "pest.concentrate",
    "fr.fire_turnout", "ppe.other", "dust.lead", "dust.asbestos", "dust.cadmium_silica",
    "drug.residue",
]  # fmt: skip


def test_the_hazards_that_stop_a_whole_piece_are_these() -> None:
    hazards = book()["hazards"].values()
    keys_found = sorted(h.bare for h in hazards if (h.level, h.scope) == ("refuse", "piece"))
    assert keys_found == sorted(DECLINED)


@pytest.mark.parametrize("hazard", DECLINED)
def test_a_refusal_cannot_be_accepted(hazard: str) -> None:
    facts = piece("cotton", FULL, hazards=[hazard], accepted=[hazard, "route.no_process"])
    assert decide_json(facts)["outcome"] == "decline"


@pytest.mark.parametrize("stain", ["cooking oil", "massage oil", "motor oil, grease"])
def test_an_oily_piece_waits_for_a_person_and_never_tumbles(stain: str) -> None:
    """UK fire services' warnings on tumble-dried laundry."""
    decision = decide_json(piece("cotton", FULL, stains=[stain]))
    assert decision["limits"]["tumble"] == "none"
    assert level(decision, "fire.oil_selfheat") == ("hold", "piece")
    assert level(decision, "fire.oil_dryer_block") == ("refuse", "step")
    assert decision["outcome"] == "ask"
    assert step(decision, "dry")["settings"]["tumble"] == "none"


@pytest.mark.parametrize("hazard", ["fire.oil_selfheat", "fire.oil_dryer_block"])
def test_a_piece_told_to_be_oily_waits_and_never_tumbles(hazard: str) -> None:
    decision = decide_json(piece("cotton", FULL, hazards=[hazard]))
    assert (decision["outcome"], decision["limits"]["tumble"]) == ("ask", "none")


def test_oil_paint_is_declined() -> None:
    assert decide_json(piece("cotton", FULL, stains=["oil paint, varnish"]))["outcome"] == "decline"


@pytest.mark.parametrize("more", [{"trims": ["neoprene"]}, {"filling": "foam_pu"}])
def test_foam_is_never_tumbled_but_may_be_washed_cool_and_laid_out(more: dict[str, Any]) -> None:
    symbols = "wash_40 no_bleach tumble_low flat_dry no_iron no_dry_clean"
    decision = decide_json(piece("polyester", symbols, **more))
    assert level(decision, "fire.foam_rubber") == ("refuse", "step")
    assert decision["limits"]["tumble"] == "none"
    assert (decision["process"], decision["limits"]["wash"]["max_c"]) == ("machine_wash", 30)
    assert decision["outcome"] != "decline"


@pytest.mark.parametrize(
    ("stain", "hazard"),
    [("blood", "body.blood"), ("vomit", "body.vomit_faeces"), ("mildew", "mould")],
)
def test_a_stain_that_endangers_the_crew_brings_its_hazard(stain: str, hazard: str) -> None:
    decision = decide_json(piece("cotton", FULL, stains=[stain]))
    assert hazard in keys(decision)
    assert decision["load"]["alone"] is True


@pytest.mark.parametrize("stain", sorted(book()["stains"]))
def test_a_stain_caps_its_first_water_and_is_looked_for_before_heat(stain: str) -> None:
    row = book()["stains"][stain]
    decision = decide_json(piece("cotton", FULL, stains=[stain], services=["clean", "press"]))
    if decision["outcome"] == "decline":
        assert decision["limits"]["wash"]["max_c"] == 0
        return
    (cap,) = [p for p in row.cells["limits"].split("; ") if p.startswith("wash.max_c")]
    first = [step["settings"] for step in decision["steps"] if step["step"] == "pre_spot"]
    assert first[0]["max_c"] == min(60, int(cap.split("=")[1].split("@")[0]))
    (bath,) = [step["settings"] for step in decision["steps"] if step["step"] == "wash"]
    assert (bath["bath"], bath["max_c"], decision["limits"]["wash"]["max_c"]) == ("main", 60, 60)
    order = steps(decision)
    assert order.index("pre_spot") < order.index("wash")
    assert ("wet_check" in order) is row.flag("heat_sets")
    if "wet_check" in order:
        assert order.index("wash") < order.index("wet_check") < order.index("dry")
        assert order.index("wet_check") < order.index("press")


def test_a_stain_that_heat_sets_is_not_pressed_unasked() -> None:
    decision = decide_json(piece("cotton", FULL, stains=["red wine"], services=["press"]))
    assert decision["outcome"] == "ask"
    assert steps(decision) == ["check", "wet_check", "press", "inspect", "assemble"]


@pytest.mark.parametrize(
    ("fibre", "stain", "never"),
    [
        ("wool", "egg", "ammonia"), ("silk", "egg", "enzyme"), ("wool", "grass", "enzyme"),
        ("acetate", "nail polish", "acetone"), ("triacetate", "nail polish", "acetone"),
        ("modacrylic", "nail polish", "acetone"), ("silk", "red wine", "peroxide"),
        ("cotton", "grass", "ammonia"), ("cotton", "mustard", "ammonia"),
    ],
)  # fmt: skip
def test_an_agent_never_touches_a_fibre_or_mark_that_it_harms(
    fibre: str, stain: str, never: str
) -> None:
    """Iowa State, Missouri (MP663) and Texas A&M extension stain tables."""
    symbols = "wash_40 bleach_any tumble_normal iron_200 dry_clean_p"
    decision = decide_json(piece("cotton", symbols, lining=fibre, stains=[stain]))
    used = {a for s in decision["steps"] for a in s["settings"].get("agents", [])}
    assert never not in used


def test_acetone_is_used_on_cotton_only_after_a_test_and_only_with_p() -> None:
    with_p = decide_json(piece("cotton", FULL, stains=["nail polish"]))
    assert step(with_p, "pre_spot")["settings"]["agents"] == ["acetone", "detergent"]
    assert steps(with_p).index("test") < steps(with_p).index("pre_spot")
    without = decide_json(piece("cotton", "wash_60 dry_clean_f", stains=["nail polish"]))
    assert step(without, "pre_spot")["settings"]["agents"] == ["detergent"]


def test_agents_that_must_not_meet_are_rinsed_apart() -> None:
    decision = decide_json(piece("cotton", FULL, stains=["rust", "egg"]))
    route = [(s["step"], s["settings"].get("agents")) for s in decision["steps"]]
    spotting = [entry for entry in route if entry[0] in ("pre_spot", "rinse")]
    assert spotting == [
        ("pre_spot", ["detergent", "enzyme", "ammonia"]),
        ("pre_spot", ["detergent"]),
        ("rinse", None),
        ("pre_spot", ["acid"]),
        ("rinse", None),
    ]


def test_a_label_against_pretreatment_is_heeded() -> None:
    facts = piece("cotton", FULL, stains=["grass"], label={"terms": ["do not soak"]})
    decision = decide_json(facts)
    assert "pre_spot" not in steps(decision)
    assert "route.no_pretreat" in keys(decision)


def test_wool_labelled_hotter_is_taken_at_the_gentler_figure_with_a_caution() -> None:
    decision = decide_json(piece("wool", "wash_40 bleach_any tumble_normal iron_200 dry_clean_p"))
    assert decision["outcome"] == "accept"
    assert decision["limits"]["wash"]["max_c"] == 30
    assert level(decision, "label.harsher_than_fibre") == ("caution", "step")


def test_a_recorded_override_lifts_a_usual_limit_up_to_the_label_never_past_it() -> None:
    symbols = "wash_40 bleach_any tumble_low iron_200 dry_clean_p"
    decision = decide_json(piece("wool", symbols, overrides=["fibre.wool"]))
    limits = flat(decision)
    assert (limits["wash.max_c"], limits["wash.action"]) == (40, "normal")
    assert limits["tumble"] == "low"
    assert limits["bleach"] == "oxygen", "chlorine destroys wool: nothing lifts that"


def test_an_override_lifts_nothing_where_the_label_is_silent() -> None:
    facts = piece("wool", "no_bleach iron_150", overrides=["fibre.wool"])
    assert decide_json(facts)["limits"]["wash"]["max_c"] == 30


def test_an_override_of_one_fibre_leaves_the_others() -> None:
    facts = piece("wool 50, silk 50", "wash_40 iron_150", overrides=["fibre.wool"])
    assert decide_json(facts)["limits"]["wash"]["max_c"] == 30


def test_down_is_dry_cleaned_only_when_its_label_says_so() -> None:
    silent = decide_json(piece("polyester", "wash_40_mild", filling="down"))
    spoken = decide_json(piece("polyester", "wash_40_mild dry_clean_p", filling="down"))
    assert silent["limits"]["dry_clean"]["solvents"] == []
    assert spoken["limits"]["dry_clean"]["solvents"] == ["P", "F"]


@pytest.mark.parametrize("fibre", ["wool", "silk", "cashmere", "elastane", "polyamide"])
def test_chlorine_on_protein_and_stretch_is_physical(fibre: str) -> None:
    """Laundry product guidance on protein fibres and spandex."""
    symbols = "wash_40 bleach_any iron_150"
    decision = decide_json(piece(fibre, symbols, overrides=[f"fibre.{fibre}"]))
    assert decision["limits"]["bleach"] != "any"


@pytest.mark.parametrize(
    ("fibre", "path", "value"),
    [
        ("chlorofibre", "iron.max_c", 0), ("chlorofibre", "tumble", "none"),
        ("elastodiene", "dry_clean.solvents", []), ("polypropylene", "dry_clean.solvents", ["F"]),
        ("pvc_coating", "dry_clean.solvents", []), ("acetate", "iron.max_c", 110),
        ("modacrylic", "iron.max_c", 0), ("leather", "wash.allowed", False),
        ("alginate", "wash.allowed", False), ("viscose", "wash.spin", "reduced"),
        ("cotton", "wash.max_c", 60), ("aramid", "load.softener", False),
    ],
)  # fmt: skip
def test_a_fibre_keeps_its_limit_under_a_wide_open_label(fibre: str, path: str, value: Any) -> None:
    """Values as university extension fibre charts and fibre handbooks have them (part memory)."""
    assert flat(decide_json(piece(fibre, FULL)))[path] == value


def test_the_smallest_share_of_a_hidden_part_still_counts() -> None:
    decision = decide_json(piece("cotton 99, elastane 1", FULL, lining="acetate"))
    assert decision["limits"]["iron"]["max_c"] == 110
    assert decision["because"]["iron.max_c"] == ["fibre.acetate"]
    assert decision["because"]["bleach"] == ["fibre.acetate"]
    assert decision["because"]["wash.max_c"] == ["fibre.acetate"]


def test_a_part_without_fibres_counts_as_unknown() -> None:
    facts = piece("cotton", FULL)
    facts["components"].append({"part": "lining"})
    decision = decide_json(facts)
    assert decision["because"]["wash.max_c"] == ["fibre.unknown"]
    assert "composition.unknown" in keys(decision, "caution")


def test_neither_fibres_nor_label_waits_for_consent() -> None:
    assert keys(decide_json(piece("")), "hold") == ["composition.nothing_known"]


@pytest.mark.parametrize("state", ["missing", "unreadable", "not_needed"])
def test_wool_that_no_label_speaks_for_waits_for_a_named_yes(state: str) -> None:
    """Trade practice: unlabelled work is tested, or the owner of the piece takes the risk."""
    facts = piece("wool", label={"state": state}, services=["clean", "press"])
    assert keys(decide_json(facts), "hold") == ["label.silent_on_felting"]
    assert decide_json({**facts, "services": ["alter"]})["outcome"] == "accept"
    assert keys(decide_json(piece("cotton", label={"state": state})), "hold") == []


def test_an_unknown_part_does_not_hide_that_a_known_one_felts() -> None:
    facts = piece("wool", label={"state": "missing"})
    facts["components"].append({"part": "lining"})
    assert sorted(keys(decide_json(facts), "hold")) == [
        "composition.nothing_known",
        "label.silent_on_felting",
    ]


def test_a_part_that_comes_off_is_taken_off_and_put_back() -> None:
    symbols = "wash_40_mild no_bleach no_tumble iron_150 no_dry_clean"
    decision = decide_json(piece("polyester", symbols, trims=["fur_trim"]))
    assert decision["outcome"] == "ask"
    order = steps(decision)
    assert order.index("remove_trim") < order.index("wash") < order.index("mend")
    assert step(decision, "mend")["settings"]["put_back"] == ["fur_trim"]


def test_a_leather_trim_that_stays_on_sends_the_piece_to_a_specialist() -> None:
    decision = decide_json(piece("cotton", "wash_40 iron_150 dry_clean_p", trims=["leather_trim"]))
    assert (decision["process"], decision["where"]) == ("specialist", "send_out")
    assert decision["outcome"] == "ask"


def test_a_dead_end_stays_declined_when_leather_is_added() -> None:
    symbols = "no_wash no_dry_clean no_wet_clean"
    assert decide_json(piece("cotton", symbols))["outcome"] == "decline"
    assert decide_json(piece("cotton", symbols, lining="leather"))["outcome"] == "decline"


@pytest.mark.parametrize(
    ("shop", "process", "where"),
    [
        ({"dry_cleaning": ["F"]}, "dry_clean", "in_house"),
        ({"dry_cleaning": ["P", "F"]}, "dry_clean", "in_house"),
        ({"dry_cleaning": [], "send_out": ["dry_clean"]}, "dry_clean", "send_out"),
        ({"dry_cleaning": [], "send_out": []}, "none", "in_house"),
    ],
)
def test_solvent_work_goes_where_the_shop_can_do_it(
    shop: dict[str, Any], process: str, where: str
) -> None:
    facts = piece("wool", "no_wash dry_clean_p iron_150", shop=shop)
    decision = decide_json(facts)
    assert (decision["process"], decision["where"]) == (process, where)
    assert (decision["outcome"] == "decline") is (process == "none")


def test_water_comes_before_solvent_where_both_serve() -> None:
    shop = SHOP | {"dry_cleaning": ["P", "F"], "wet_cleaning": True}
    assert decide_json(piece("cotton", FULL, shop=shop))["process"] == "machine_wash"
    no_wash = "no_wash dry_clean_p wet_clean_w"
    assert decide_json(piece("polyester", no_wash, shop=shop))["process"] == "wet_clean"


WORK = sorted(book()["work"])


@pytest.mark.parametrize("key", WORK)
def test_mending_stands_on_its_side_of_the_cleaning(key: str) -> None:
    row = book()["work"][key]
    decision = decide_json(piece("cotton", FULL, work=[key], services=["clean", "mend", "alter"]))
    order = steps(decision)
    done = {s["step"] for s in decision["steps"] if key in s["settings"].get("work", [])}
    if row.cells["order"] == "before":
        assert done == {"stabilise"}
        assert order.index("stabilise") < order.index("wash")
    else:
        assert "mend" in done
        assert order.index("dry") < order.index("mend")
        assert order.index("cool_down") < order.index("mend")
        assert ("unpick" in done) is (row.cells["before_step"] == "unpick")
        if "unpick" in done:
            assert order.index("unpick") < order.index("wash")


def test_damage_is_secured_before_water_and_mended_after() -> None:
    facts = piece("cotton", FULL, damage=["open_seam", "hole"], services=["clean", "mend"])
    order = steps(decide_json(facts))
    assert order.index("stabilise") < order.index("wash") < order.index("mend")


def test_cloth_that_may_shrink_is_not_cut_unwashed_without_a_word() -> None:
    facts = piece("cotton", FULL, services=["alter"], work=["jeans_hem_original"])
    assert "route.wash_before_cut" in keys(decide_json(facts), "caution")


def test_fire_resistant_clothes_are_not_mended_here() -> None:
    facts = piece("aramid", FULL, hazards=["fr.repair"], services=["clean", "mend"])
    decision = decide_json(facts)
    assert "mend" not in steps(decision)
    assert level(decision, "route.work_barred") == ("refuse", "step")
    alone = decide_json(facts | {"services": ["mend"]})
    assert alone["outcome"] == "decline"


def test_a_high_visibility_piece_is_counted_at_every_wash() -> None:
    decision = decide_json(piece("polyester", FULL, kind="hivis_jacket"))
    assert level(decision, "hivis.washcount") == ("caution", "piece")
    assert decision["limits"]["bleach"] == "none"
    assert decision["load"]["softener"] is False
    assert "wash count" in step(decision, "check")["says"]


@pytest.mark.parametrize(
    ("shares", "expected"),
    [
        ("wool 80, polyamide 20", []),
        ("wool 80, polyamide 19.5", ["composition.rounding"]),
        ("wool 80, polyamide 30", ["composition.total"]),
        ("wool 60, polyamide 20, wool 20", ["composition.duplicate"]),
        ("wool 80, other_fibres 20",
         ["composition.other_fibres", "fibre.other_fibres", "composition.some_other_fibres"]),
        ("wool 85, other_fibres 15", ["fibre.other_fibres", "composition.some_other_fibres"]),
        ("wool 95, other_fibres 5", ["fibre.other_fibres"]),
    ],
)  # fmt: skip
def test_shares_that_do_not_add_up_are_read_again(shares: str, expected: list[str]) -> None:
    """EU 1007/2011 Art. 9, as restated in guides; the rounding band is practice."""
    caution_keys = keys(decide_json(piece(shares, FULL)))
    sums = [key for key in caution_keys if key.startswith(("composition.", "fibre."))]
    assert sorted(sums) == sorted(expected)


def test_what_was_typed_out_of_order_is_noted_without_touching_the_decision() -> None:
    def notes(facts: Facts) -> list[str]:
        return [rule.key for rule in reading_notes(facts)]

    ordered = parse_facts(piece("wool 80, polyamide 20", "wash_30 no_bleach iron_110"))
    turned = parse_facts(piece("polyamide 20, wool 80", "iron_110 wash_30 no_bleach"))
    old = parse_facts(piece("wool", "wash_30 no_bleach iron_110 dry_clean_p flat_dry"))
    assert notes(ordered) == []
    assert notes(turned) == ["label_rule.iso_order", "composition_rule.descending_order"]
    assert notes(old) == ["label_rule.old_jp_order"]
