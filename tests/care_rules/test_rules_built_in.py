"""Every rule about labels and compositions that the engine is built on, seen at work.

The rows marked engine in ``label_rules`` and ``composition_rules``: each has a check that fails
when the engine stops keeping to it. Sources stand in the rows.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from care_rules import decide_json, may_share_load, parse_facts
from care_rules.errors import FactsError
from care_rules.tables import book
from tests.care_rules.builders import decided, keys, part, piece, step
from tests.care_rules.severity import flat
from tests.care_rules.test_rules_in_use import FULL, label, term, us, used, word


def limits(*args: Any, **more: Any) -> dict[str, Any]:
    return flat(decide_json(piece(*args, **more)))


def flat_of(facts: dict[str, Any]) -> dict[str, Any]:
    return flat(decide_json(facts))


def refused(facts: dict[str, Any]) -> str:
    with pytest.raises(FactsError) as caught:
        parse_facts(facts)
    return str(caught.value)


def contradicts(group: str, symbols: str) -> bool:
    return f"label.contradiction.{group}" in keys(decide_json(piece("cotton", symbols)), "hold")


def odd(symbols: str) -> tuple[str, ...]:
    for caution in decide_json(piece("cotton", symbols))["cautions"]:
        if caution["key"] == "label.odd_pair":
            return tuple(caution["because"])
    return ()


def words(text: str) -> dict[str, Any]:
    return flat_of(term(text, ""))


def reasons(facts: dict[str, Any], key: str) -> list[str]:
    (caution,) = [c for c in decide_json(facts)["cautions"] if c["key"] == key]
    return list(caution["because"])


def agents_on_crayon(symbols: str) -> list[str]:
    decision = decide_json(piece("cotton", symbols, stains=["crayon"]))
    return list(step(decision, "pre_spot")["settings"]["agents"])


def process(facts: dict[str, Any]) -> tuple[str, str]:
    decision = decide_json(facts)
    return decision["outcome"], decision["process"]


SHELLS = {"components": [part("cotton 80, polyester 20"), part("polyester 50, viscose 50")]}
SHELLED: dict[str, Any] = piece("", label=label()) | SHELLS

#: rule key to what must be true of the engine for it
BUILT_IN: dict[str, Callable[[], bool]] = {
    # 16 CFR 423: silence, words and ceilings
    "us_one_method_is_enough": lambda: limits("cotton", "wash_60")["dry_clean.solvents"] == ["F"],
    "us_warning_not_needed_for_unlisted": lambda: (
        limits("cotton", "dry_clean_p")["wash.max_c"] == 40
    ),
    "us_no_safe_method": lambda: (
        process(piece("cotton", "no_wash no_dry_clean no_wet_clean")) == ("decline", "none")
    ),
    "us_wash_temp_omitted": lambda: words("machine wash")["wash.max_c"] == 60,
    "us_bleach_omitted": lambda: words("machine wash")["bleach"] == "none",
    "us_bleach_nonchlorine": lambda: (
        words("only non-chlorine bleach, when needed")["bleach"] == "oxygen"
    ),
    "us_bleach_none": lambda: words("do not bleach")["bleach"] == "none",
    "us_iron_only_if_needed": lambda: words("machine wash")["iron.max_c"] == 150,
    "us_iron_warning": lambda: words("do not iron")["iron.max_c"] == 0,
    "us_warning_words": lambda: words("do not tumble dry")["tumble"] == "none",
    "us_warning_harm_to_others": lambda: words("wash separately")["load.alone"] is True,
    "us_dryclean_solvent": lambda: words("petroleum")["dry_clean.solvents"] == ["F"],
    "us_prof_dryclean_needs_detail": lambda: (
        "label.incomplete_term" in keys(decide_json(term("professionally dryclean", "")))
    ),
    "us_only_limits": lambda: words("dryclean only")["wash.allowed"] is False,
    "us_symbols_beside_words": lambda: (
        flat_of(term("machine wash cold", "wash_60"))["wash.max_c"] == 30
    ),
    # the older ceilings were 66, 43 and 29 °C or more; each word maps at or below them
    "us_terms_changed_2000": lambda: (
        [words(f"machine wash {heat}")["wash.max_c"] for heat in ("hot", "warm", "cold")]
        == [60, 40, 30]
    ),
    "us_not_covered": lambda: (
        keys(decide_json(piece("cotton", label={"state": "not_needed"})), "caution") == []
    ),
    # ISO 3758 and JIS L 0001
    "component_scope": lambda: limits("cotton", FULL, lining="acetate")["iron.max_c"] == 110,
    "iso_most_severe": lambda: limits("cotton", "wash_40")["wash.max_c"] == 40,
    "iso_milder_allowed": lambda: (
        step(decide_json(piece("silk", "wash_60 no_tumble")), "wash")["settings"]["max_c"] == 30
    ),
    "iso_weakest_part": lambda: (
        limits("cotton", FULL, trims=["print_plastisol"])["dry_clean.solvents"] == []
    ),
    "iso_no_cleanness_promise": lambda: (
        "what is left"
        in step(decide_json(piece("cotton", FULL, stains=["grass"])), "inspect")["says"]
    ),
    "iso_bars": lambda: (
        [limits("cotton", f"wash_40{bar}")["wash.action"] for bar in ("", "_mild", "_very_mild")]
        == ["normal", "mild", "very_mild"]
    ),
    "iso_bars_allowed_set": lambda: (
        {key for key in book()["symbols"] if key.startswith("wash_")}
        == {"wash_95", "wash_70", "wash_60", "wash_60_mild", "wash_50", "wash_50_mild", "wash_40",
            "wash_40_mild", "wash_40_very_mild", "wash_30", "wash_30_mild", "wash_30_very_mild"}
    ),
    "iso_dots_iron": lambda: (
        [limits("cotton", f"wash_60 iron_{c}")["iron.max_c"] for c in (110, 150, 200)]
        == [110, 150, 200]
    ),
    "iso_dots_dryer": lambda: (
        flat_of(piece("cotton", label=label("tumble_normal", market="iso")))["tumble"] == "normal"
    ),
    "dots_differ_us": lambda: (
        flat_of(piece("cotton", label=label("tumble_normal", market="us")))["tumble"] == "low"
    ),
    "bars_differ_us": lambda: flat_of(us("cotton", "wash_40_mild"))["wash.action"] == "mild",
    "iso_cross": lambda: limits("cotton", "no_wash")["wash.allowed"] is False,
    "natural_lines": lambda: limits("cotton", "flat_dry_shade")["air_dry.hang"] is False,
    "drip_means_no_spin": lambda: limits("cotton", "drip_line_dry")["wash.spin"] == "none",
    "natural_optional": lambda: limits("cotton", "wash_60")["air_dry.hang"] is True,
    "natural_and_tumble_ok": lambda: not contradicts("tumble_dry", "wash_60 tumble_low line_dry"),
    "jp_missing_means_allowed": lambda: (
        flat_of(piece("cotton", label=label("wash_60", market="jp")))["bleach"] == "none"
    ),
    "ca_missing_means_unknown": lambda: (
        flat_of(piece("cotton", label=label("wash_60", market="ca")))["bleach"] == "none"
    ),
    "product_missing_policy": lambda: (
        "label.not_stated" in keys(decide_json(piece("cotton", "wash_60")))
    ),
    "p_includes_f": lambda: limits("wool", "dry_clean_p")["dry_clean.solvents"] == ["P", "F"],
    "spotting_follows_solvent": lambda: (
        [agents_on_crayon(f"wash_60 {circle}") for circle in ("dry_clean_p", "dry_clean_f")]
        == [["solvent", "detergent"], ["detergent"]]
    ),
    "w_is_professional": lambda: (
        process(piece("cotton", "no_wash no_dry_clean wet_clean_w")) == ("accept", "wet_clean")
    ),
    "no_wash_with_w_ok": lambda: not contradicts("wash", "no_wash wet_clean_w"),
    "no_iron_bans_steam": lambda: limits("cotton", "no_iron")["iron.steam"] is False,
    "iron_110_no_steam": lambda: limits("cotton", "iron_110")["iron.steam"] is False,
    "contra_two_wash": lambda: contradicts("wash", "wash_40 wash_60"),
    "contra_wash_and_no_wash": lambda: contradicts("wash", "wash_40 no_wash"),
    "contra_bleach": lambda: contradicts("bleach", "bleach_any no_bleach"),
    "contra_tumble": lambda: contradicts("tumble_dry", "tumble_low no_tumble"),
    "contra_iron": lambda: contradicts("iron", "iron_110 iron_200"),
    "contra_natural_multi": lambda: contradicts("natural_dry", "line_dry flat_dry"),
    "contra_p_and_f": lambda: contradicts("dry_clean", "dry_clean_p dry_clean_f"),
    "contra_dryclean": lambda: contradicts("dry_clean", "dry_clean_p no_dry_clean"),
    "contra_wetclean": lambda: contradicts("wet_clean", "wet_clean_w no_wet_clean"),
    "odd_no_wetclean_but_wash": lambda: (
        odd("wash_60 no_wet_clean") == ("label_rule.odd_no_wetclean_but_wash",)
    ),
    "odd_no_wash_but_tumble": lambda: (
        odd("no_wash tumble_low dry_clean_p") == ("label_rule.odd_no_wash_but_tumble",)
    ),
    "odd_handwash_hot_tumble": lambda: (
        odd("hand_wash tumble_normal") == ("label_rule.odd_handwash_hot_tumble",)
    ),
    "odd_chlorine_on_protein": lambda: (
        "label.harsher_than_fibre" in keys(decide_json(piece("silk", "hand_wash bleach_any")))
    ),
    "odd_hot_on_wool": lambda: (
        "label.harsher_than_fibre" in keys(decide_json(piece("wool", "wash_60")))
    ),
    "dead_end_label": lambda: (
        "route.no_process" in keys(decide_json(
            piece("cotton", "no_wash no_dry_clean no_wet_clean")), "refuse")
    ),
    "edition_2023_iron": lambda: (
        flat_of(piece("cotton", label=label("iron_110", edition="2023")))["iron.max_c"] == 120
    ),
    "edition_2023_new_symbols": lambda: limits("cotton", "hand_wash_30")["wash.max_c"] == 30,
    "edition_2012_no_bleach": lambda: (
        "read both as no_bleach" in book()["symbols"]["no_bleach"].cells["geometry"]
    ),
    "eu_voluntary": lambda: process(piece("cotton")) == ("accept", "machine_wash"),
    "load_combine": lambda: (
        may_share_load(
            decided(piece("cotton", "wash_60 no_bleach")),
            decided(piece("cotton", "wash_40_mild no_bleach")),
        )
        == (True, "Both may run at 40 °C, mild action, reduced spin, no bleach.")
    ),
    "load_fill_by_bar": lambda: (
        "two thirds full" in step(decide_json(piece("cotton", "wash_40_mild")), "wash")["says"]
        and "a third full" in step(decide_json(piece("wool", "wash_30_very_mild")), "wash")["says"]
        and "full" not in step(decide_json(piece("cotton", "wash_40")), "wash")["says"]
    ),
    "separately_beats_combine": lambda: words("separately")["load.alone"] is True,
    "unreadable_label": lambda: (
        flat_of(piece("cotton", label={"state": "unreadable"}))["wash.max_c"] == 40
    ),
    # compositions
    "total_100_per_component": lambda: (
        "composition_rule.total_100_per_component"
        in reasons(piece("cotton 70, polyester 20", FULL), "composition.total")
    ),
    "percent_range": lambda: "above 0 and at most 100" in refused(piece("cotton 101", FULL)),
    "duplicate_fibre": lambda: (
        "composition.duplicate" in keys(decide_json(piece("cotton 60, cotton 40", FULL)))
    ),
    "other_fibres_limit": lambda: (
        "composition.other_fibres"
        in keys(decide_json(piece("cotton 84, other_fibres 16", FULL)), "caution")
    ),
    "other_fibres_hidden_risk": lambda: (
        limits("cotton 95, other_fibres 5", FULL)["wash.max_c"] == 30
    ),
    "warp_weft_separate": lambda: "composition.total" not in keys(decide_json(SHELLED)),
    "devore_parts": lambda: (
        limits("viscose 60, silk 40", FULL, trims=["print_devore"])["wash.action"] == "very_mild"
    ),
    "pile_parts": lambda: "composition.total" not in keys(decide_json(SHELLED)),
    "us_pile_ratio": lambda: "composition.duplicate" not in keys(decide_json(SHELLED)),
    "us_sections": lambda: flat_of(SHELLED)["wash.max_c"] == 40,
    "components_separate": lambda: (
        "lining" in next(
            c["says"] for c in decide_json(
                piece("cotton", FULL, lining="viscose 90"))["cautions"]
            if c["key"] == "composition.total")
    ),
    "scope_80": lambda: (
        process(piece("", "dry_clean_p", construction="skin")) == ("accept", "specialist")
    ),
    "tailor_exempt": lambda: (
        keys(decide_json(piece("cotton", label={"state": "not_needed"})), "caution") == []
    ),
    "used_goods_exempt": lambda: (
        "composition.nothing_known" in keys(decide_json(piece("")), "hold")
    ),
    "old_label_85": lambda: (
        "composition_rule.old_label_85" in reasons(piece("wool 85", FULL), "composition.total")
        and "composition_rule.old_label_85"
        not in reasons(piece("wool 84", FULL), "composition.total")
    ),
    "cn_under_5": lambda: (
        "composition_rule.cn_under_5"
        in reasons(piece("cotton 60, polyester 35", FULL), "composition.total")
        and "composition_rule.cn_under_5"
        not in reasons(piece("cotton 60, polyester 34", FULL), "composition.total")
    ),
    "weight_basis": lambda: limits("polyester 97, wool 3", FULL)["tumble"] == "none",
    "us_under_5_other": lambda: limits("cotton 98, elastane 2", FULL)["bleach"] == "oxygen",
    "most_restrictive_wins": lambda: limits("cotton 99, acetate 1", FULL)["iron.max_c"] == 110,
    "label_over_fibre": lambda: limits("cotton", "wash_30 iron_110")["wash.max_c"] == 30,
    "blend_relief": lambda: limits("wool 50, polyester 50", FULL)["wash.max_c"] == 30,
    "fibre_name_allowed": lambda: (
        "names a cloth, not a fibre" in refused(word("denim"))
        and "did you mean" in refused(word("polyestr"))
    ),
}  # fmt: skip


@pytest.mark.parametrize("key", sorted(BUILT_IN))
def test_the_engine_is_built_as_the_rule_says(key: str) -> None:
    assert BUILT_IN[key]()


def test_every_rule_that_is_built_in_has_a_case() -> None:
    expected = used("label_rules", "engine") | used("composition_rules", "engine")
    keys = {key.partition(".")[2] for key in expected}
    assert set(BUILT_IN) == keys
