"""Every rule about labels and compositions that is said to be in use, seen at work.

A row of ``label_rules`` or ``composition_rules`` marked caution raises itself here, one marked
note is told of what was typed; those marked engine have their checks in test_rules_built_in.py.
The sets of keys are compared with the tables, so that no row can be called used without a case.
Sources stand in the rows; cases without another word are drawn from them.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json, parse_facts, reading_notes, rule
from care_rules.tables import book
from tests.care_rules.builders import keys, part, piece, steps

FULL = "wash_60 bleach_any tumble_normal line_dry iron_200 dry_clean_p wet_clean_w"


def label(symbols: str = FULL, **more: Any) -> dict[str, Any]:
    return {"state": "read", "symbols": symbols.split(), **more}


def term(words: str, symbols: str = FULL, fibres: str = "cotton", **more: Any) -> dict[str, Any]:
    return piece(fibres, label=label(symbols, terms=[words]), **more)


def us(fibres: str, symbols: str = FULL, **more: Any) -> dict[str, Any]:
    return piece(fibres, label=label(symbols, market="us"), **more)


def word(fibre: str, percent: float = 100, symbols: str = FULL, **more: Any) -> dict[str, Any]:
    shell = {"part": "shell", "fibres": [{"fibre": fibre, "percent": percent}]}
    return piece("", label=label(symbols, **more)) | {"components": [shell]}


def used(table: str, use: str) -> set[str]:
    return {row.key for row in book()[table].values() if row.cells["use"] == use}


JACKET = {"kind": "suit_jacket"}

#: rule key, what raises it, its level, and the same piece without what raises it
CAUTIONS: list[tuple[str, dict[str, Any], str, dict[str, Any]]] = [
    ("label_rule.us_hand_or_machine", term("washable", ""), "caution", term("wash inside out")),
    ("label_rule.us_whole_garment", piece("cotton", FULL, work=["dress_zip_replace"]), "info",
     piece("cotton", FULL, work=["button_replace"])),
    ("label_rule.trademark_replacement_label",
     piece("cotton", FULL, work=["trouser_waist_take_in"]), "info",
     piece("cotton", FULL, work=["trouser_hem_plain"])),
    ("label_rule.broken_bar_legacy", term("broken bar under the tub"), "info",
     piece("cotton", FULL)),
    ("label_rule.iso_number_celsius", term("tub with number 20"), "caution",
     piece("cotton", FULL)),
    ("label_rule.legacy_cl_triangle", term("crossed triangle with Cl"), "info",
     piece("cotton", FULL)),
    ("label_rule.jp_ceiling_vs_advice", term("old Japanese iron low", "wash_40"), "info",
     piece("cotton", "wash_40 iron_110")),
    ("label_rule.jp_old_iron", term("old Japanese iron high", "wash_40"), "info",
     piece("cotton", "wash_40 iron_200")),
    ("label_rule.suit_alike", piece("wool", FULL, **JACKET), "info",
     piece("wool", FULL, services=["press"], **JACKET)),
    ("composition_rule.pure_single_fibre",
     term("pure / all / 100 percent", fibres="wool 90, silk 10"), "caution",
     term("pure / all / 100 percent", fibres="wool")),
    ("composition_rule.decorative_7", piece("cotton", FULL, trims=["applique"]), "info",
     piece("cotton", FULL, trims=["metal_zip"])),
    ("composition_rule.embroidery_10", piece("cotton", FULL, trims=["embroidery"]), "info",
     piece("cotton", FULL, trims=["applique"])),
    ("composition_rule.antistatic_2",
     piece("cotton", FULL, kind="coverall", stains=["rust"]), "info",
     piece("cotton", FULL, kind="apron")),
    ("composition_rule.half_linen_40",
     term("half linen / union linen", fibres="cotton 70, linen 30"), "caution",
     term("half linen / union linen", fibres="cotton 60, linen 40")),
    ("composition_rule.lining_only_main",
     piece("cotton", FULL, services=["clean", "press"], **JACKET), "info",
     piece("cotton", FULL, **JACKET)),
    ("composition_rule.socks_elastic", piece("cotton", FULL, kind="socks_pair"), "info",
     piece("cotton", FULL, kind="napkin")),
    ("composition_rule.corsetry", piece("cotton", FULL, kind="bra"), "info",
     piece("cotton", FULL, kind="underwear")),
    ("composition_rule.rug_viscose_water", piece("viscose", kind="rug_viscose"), "caution",
     piece("viscose", kind="rug_wool")),
    ("label_rule.heated_unlabelled", piece("polyester", kind="heated_clothing"), "hold",
     piece("polyester", "wash_30_mild", kind="heated_clothing")),
    ("composition_rule.animal_parts_phrase",
     term("contains non-textile parts of animal origin"), "hold", piece("cotton", FULL)),
    ("composition_rule.abbreviations_barred", word("CO"), "info", word("cotton")),
    ("composition_rule.code_collision", word("CA"), "hold", word("CTA")),
    ("composition_rule.language",
     piece("", label=label()) | {"components": [
         part("cotton 60, polyester 40, cotton 60, polyester 40")]}, "info",
     piece("cotton 60, polyester 40", FULL)),
    ("composition_rule.virgin_wool", piece("polyamide 80, wool_virgin 20", FULL), "caution",
     piece("polyamide 75, wool_virgin 25", FULL)),
    ("composition_rule.silk_word", word("art silk"), "info", word("silk")),
    ("composition_rule.bamboo_word", word("bamboo"), "info", word("viscose")),
    ("composition_rule.us_named_5", us("cotton 94, other_fibres 6"), "info",
     us("cotton 96, other_fibres 4")),
    ("composition_rule.us_decoration_15", term("exclusive of decoration"), "caution",
     piece("cotton", FULL)),
    ("composition_rule.us_elastic_20", term("exclusive of elastic"), "caution",
     piece("cotton", FULL)),
    ("composition_rule.us_ornamentation_5", term("exclusive of ornamentation"), "caution",
     piece("cotton", FULL)),
    ("composition_rule.us_reinforcement", term("except reinforcement"), "info",
     piece("cotton", FULL)),
    ("composition_rule.us_wool_wide", us("wool", "dry_clean_p"), "caution",
     piece("wool", "dry_clean_p")),
    ("composition_rule.us_rayon_wide", word("rayon"), "info", word("viscose")),
    ("composition_rule.jp_terms", word("ポリウレタン", market="jp"), "info", word("ポリエステル")),
    ("composition_rule.kr_terms", word("폴리우레탄"), "info", word("면")),
    ("composition_rule.mixed_fibres_label",
     term("mixed fibres / unspecified textile composition"), "caution", piece("cotton", FULL)),
    ("composition_rule.filling_dries_last", piece("cotton", FULL, filling="polyester"), "info",
     piece("cotton", FULL, lining="polyester")),
]  # fmt: skip


@pytest.mark.parametrize("case", CAUTIONS, ids=[case[0] for case in CAUTIONS])
def test_a_caution_row_speaks_where_it_should_and_only_there(case: Any) -> None:
    key, facts, level, other = case
    decision = decide_json(facts)
    (caution,) = [c for c in decision["cautions"] if c["key"] == key]
    assert caution["level"] == level
    advice = rule_row(key).cells["do"]
    assert advice
    by_step = any(advice in step["says"] for step in decision["steps"])
    assert caution["do"] == ("" if by_step else advice)
    assert key in caution["because"]
    assert key not in keys(decide_json(other))


def rule_row(key: str) -> Any:
    return book().rules[key]


def test_every_caution_row_has_a_case() -> None:
    expected = used("label_rules", "caution") | used("composition_rules", "caution")
    assert {case[0] for case in CAUTIONS} == expected


def noted(facts: dict[str, Any]) -> list[str]:
    return [note.key for note in reading_notes(parse_facts(facts))]


COAT = {"kind": "coat_wool"}
#: rule key, a piece that it is a note on, and one that it is none on
NOTES: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    ("label_rule.iso_order", piece("wool", "iron_110 wash_30"), piece("wool", "wash_30 iron_110")),
    ("label_rule.old_jp_order", piece("wool", "wash_30 no_bleach iron_110 dry_clean_p flat_dry"),
     piece("wool", "wash_30 no_bleach flat_dry iron_110 dry_clean_p")),
    ("label_rule.us_wash_or_dryclean_needed", us("cotton", "iron_150"), us("cotton", "wash_40")),
    ("label_rule.us_dry_method_needed", us("cotton", "wash_40"),
     us("cotton", "wash_40 tumble_low")),
    ("composition_rule.descending_order", piece("silk 20, wool 80", FULL),
     piece("wool 80, silk 20", FULL)),
    ("composition_rule.us_order", us("silk 20, wool 80"), piece("silk 20, wool 80", FULL)),
    ("composition_rule.component_30", piece("wool", FULL, **COAT),
     piece("wool", FULL, lining="viscose", **COAT)),
    ("composition_rule.us_lining_warmth", us("wool", **COAT),
     us("wool", lining="viscose", **COAT)),
    ("composition_rule.us_wool_linings", us("wool", **COAT), us("cotton", **COAT)),
    ("composition_rule.excluded_parts", piece("cotton", FULL, kind="pyjamas_set"),
     piece("cotton", FULL, kind="pyjamas_set", trims=["elastic_band"])),
    ("composition_rule.excluded_finish", piece("polyamide", FULL, kind="raincoat"),
     piece("polyamide", FULL, kind="raincoat", trims=["laminated_membrane"])),
    ("composition_rule.cn_filling", piece("polyamide", FULL, kind="coat_down"),
     piece("polyamide", FULL, kind="coat_down", filling="down")),
]  # fmt: skip


@pytest.mark.parametrize("case", NOTES, ids=[case[0] for case in NOTES])
def test_a_note_row_is_a_note_on_what_was_typed_and_changes_nothing(case: Any) -> None:
    key, facts, other = case
    assert key in noted(facts)
    assert key not in noted(other)
    assert key not in keys(decide_json(facts))


def test_every_note_row_has_a_case() -> None:
    expected = used("label_rules", "note") | used("composition_rules", "note")
    assert {case[0] for case in NOTES} == expected


def test_a_row_that_is_text_only_says_why() -> None:
    for table in ("label_rules", "composition_rules"):
        for row in book()[table].values():
            assert (row.cells["use"] == "text") is bool(row.cells["how"]), row.key


def test_text_rows_are_about_making_testing_or_printing_labels() -> None:
    text = used("label_rules", "text") | used("composition_rules", "text")
    assert text == {
        "label_rule.us_dryclean_default_process", "label_rule.us_rule_still_in_force",
        "label_rule.edition_2023_solvents", "label_rule.edition_2023_scope",
        "label_rule.au_words_needed", "label_rule.trademark_owner",
        "label_rule.trademark_scope_claim", "label_rule.trademark_caution",
        "composition_rule.extraneous_2", "composition_rule.extraneous_5_carded",
        "composition_rule.tolerance_3", "composition_rule.tolerance_not_added",
        "composition_rule.tolerance_special_15", "composition_rule.us_tolerance_3",
        "composition_rule.jp_named_5", "composition_rule.kr_small_5",
    }  # fmt: skip
    assert {rule(key).strength for key in text} == {"usual"}


def test_a_stretch_of_notes_on_one_piece_stays_short() -> None:
    """A full label on an ordinary shirt gets no note at all."""
    shirt = piece("cotton", "wash_60 bleach_any tumble_normal iron_200 dry_clean_p",
                  kind="shirt_cotton")  # fmt: skip
    assert noted(shirt) == []
    assert steps(decide_json(shirt)) == ["check", "wash", "dry", "cool_down", "inspect", "assemble"]
