"""Fibres named as a label names them: by word in many languages, by code, or by a cloth's name.

Words: EU 1007/2011 Annex I and its language versions, Japan's designated terms, GB/T and Korean
wording, as each row of fibre_words says (some from memory). Codes: abbreviation lists in trade use.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json, parse_facts
from care_rules.errors import FactsError
from care_rules.fibre_words import fibres_meant
from care_rules.tables import book
from tests.care_rules.builders import keys, piece
from tests.care_rules.severity import flat, strictness

FULL = "wash_60 bleach_any tumble_low line_dry iron_150 dry_clean_p no_wet_clean"


def named(*fibres: str, market: str = "unknown", symbols: str = FULL) -> dict[str, Any]:
    label = {"state": "read", "market": market, "symbols": symbols.split()}
    share = {"part": "shell", "fibres": [{"fibre": fibre} for fibre in fibres]}
    return piece("", label=label) | {"components": [share]}


@pytest.mark.parametrize(
    ("word", "fibre"),
    [
        ("Baumwolle", "cotton"), ("coton", "cotton"), ("algodón", "cotton"), ("綿", "cotton"),
        ("laine", "wool"), ("lana", "wool"), ("Schurwolle", "wool_virgin"), ("soie", "silk"),
        ("lin", "linen"), ("Leinen", "linen"), ("NYLON", "polyamide"), ("spandex", "elastane"),
        ("PES", "polyester"), ("co", "cotton"), ("ｐｅｓ", "polyester"),
        ("  cotone ", "cotton"), ("羊毛", "wool"), ("폴리우레탄", "elastane"),
    ],
)  # fmt: skip
def test_a_word_of_the_label_stands_for_its_fibre(word: str, fibre: str) -> None:
    facts = parse_facts(named(word))
    (share,) = facts.components[0].fibres
    assert (share.fibre, share.written) == (fibre, " ".join(word.split()))
    by_word, by_key = decide_json(named(word)), decide_json(named(fibre))
    assert by_word["limits"] == by_key["limits"]
    assert by_word["outcome"] == by_key["outcome"] == "accept" or fibre in ("wool", "silk")


#: ISO 2076, DIN 60001 and trade lists were compared; these codes are met with two meanings.
CODES = {
    "CA": {"acetate", "hemp"}, "HA": {"animal_hair", "hemp"}, "SI": {"silk", "sisal"},
    "EA": {"elastane", "other_fibres"}, "LY": {"elastane", "lyocell"},
    "PE": {"polyester", "polyethylene"}, "PU": {"elastane", "polyurethane_coating",
                                                 "polyurethane_fibre"},
    "AC": {"acetate", "acrylic"}, "CU": {"cupro", "metal_fibre"},
}  # fmt: skip


@pytest.mark.parametrize("code", CODES)
def test_a_code_with_two_meanings_takes_the_strictest_of_them_and_asks(code: str) -> None:
    assert set(fibres_meant(code, book())) == CODES[code]
    decision = decide_json(named(code))
    (caution,) = [c for c in decision["cautions"] if c["key"] == "composition_rule.code_collision"]
    assert caution["level"] == "hold"
    assert code in caution["says"]
    assert decision["outcome"] in ("ask", "decline")
    limits = flat(decision)
    for fibre in CODES[code]:
        for path, value in flat(decide_json(named(fibre))).items():
            assert strictness(path, limits[path]) >= strictness(path, value), (fibre, path)


def test_the_collisions_of_codes_are_these_and_no_others() -> None:
    codes = {
        word.upper()
        for word, meanings in book().meanings.items()
        if any(meaning.language == "code" for meaning in meanings)
        and len({fibre for meaning in meanings for fibre in meaning.fibres}) > 1
    }
    assert codes == set(CODES)


@pytest.mark.parametrize("word", ["麻", "마", "polyurethane"])
def test_a_word_that_means_two_fibres_somewhere_is_asked_about(word: str) -> None:
    assert "composition_rule.code_collision" in keys(decide_json(named(word)), "hold")


@pytest.mark.parametrize("word", ["piel", "pele"])
def test_nobody_is_asked_where_the_answer_would_change_nothing(word: str) -> None:
    """Leather or fur: both go to the specialist, so the two meanings are only told."""
    assert "composition_rule.code_collision" in keys(decide_json(named(word)), "info")


@pytest.mark.parametrize("word", ["rayon", "bamboo", "art silk", "毛"])
def test_nobody_is_asked_where_a_rule_says_how_to_read_the_word(word: str) -> None:
    caution_keys = keys(decide_json(named(word, symbols="wash_30_very_mild no_tumble iron_110")))
    assert [c for c in caution_keys if c.startswith("composition_rule.")]
    assert "composition_rule.code_collision" not in keys(decide_json(named(word)), "hold")


def test_polyurethane_is_elastane_on_a_japanese_label_and_a_question_elsewhere() -> None:
    """Japan's designated terms: polyurethane in the list of fibres is the stretch fibre."""
    japan = decide_json(named("polyurethane", market="jp"))
    assert japan["limits"] == decide_json(named("elastane", market="jp"))["limits"]
    assert "composition_rule.code_collision" not in keys(japan)
    assert decide_json(named("polyurethane"))["outcome"] != "accept"


def test_a_cloth_is_no_fibre() -> None:
    with pytest.raises(FactsError) as refused:
        parse_facts(named("Denim"))
    (fault,) = refused.value.faults
    assert (fault.field, fault.value) == ("components[0].fibres[0].fibre", "Denim")
    assert fault.cure == "this names a cloth, not a fibre; name what it is made of"


def test_the_order_of_meanings_and_parts_does_not_matter() -> None:
    first, second = decide_json(named("CA", "PES")), decide_json(named("PES", "CA"))
    assert first == second


def test_every_word_leads_to_fibres_of_the_table_and_no_key_is_a_word_for_another() -> None:
    fibres = book()["fibres"]
    for word, meanings in book().meanings.items():
        for meaning in meanings:
            assert set(meaning.fibres) <= set(fibres)
        if word in fibres:
            assert word in fibres_meant(word, book())


def test_a_second_meaning_never_loosens_the_first() -> None:
    """A code in place of one of its meanings is a restriction more."""
    for code, fibres in CODES.items():
        for fibre in fibres:
            before, after = flat(decide_json(named(fibre))), flat(decide_json(named(code)))
            assert all(strictness(p, after[p]) >= strictness(p, before[p]) for p in before)
