"""Whatever the engine says can be said in another language, and nothing else changes with it."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from typing import Any

import pytest

from care_rules import Decision, catalogue, decide_json, may_share_load, read_decision, speech
from care_rules.limits import AXES, strictest, value_at
from care_rules.rows import PREFIX, load_table
from care_rules.texts import table_texts, template
from care_rules.wording import (
    crew_lines,
    home_care,
    limit_name,
    load_words,
    strongest_limits,
    treatment_lines,
    value_words,
)
from tests.care_rules.builders import decided

OPEN, SHUT = "⟦", "⟧"
TONGUES = itertools.count()
WORD = re.compile(r"[^\W\d_]{2,}")

PIECES: list[dict[str, Any]] = [
    {
        "kind": "sweater_wool",
        "construction": "knit",
        "colour": "dark",
        "components": [{"part": "shell", "fibres": [{"fibre": "wool", "percent": 100}]}],
        "label": {"state": "read", "symbols": ["wash_60", "wash_40_mild", "bleach_any"]},
        "trims": ["metal_zip", "buttons_plastic"],
        "stains": [{"stain": "red wine"}, {"stain": "blood"}],
        "damage": ["loose_button", "tear"],
        "services": ["clean", "press", "mend"],
        "accepted": ["label.contradiction.wash"],
    },
    {
        "kind": "shirt_cotton",
        "construction": "woven",
        "colour": "white",
        "components": [{"part": "shell", "fibres": [{"fibre": "cotton", "percent": 90}]}],
        "label": {"state": "read", "symbols": ["wash_60", "tumble_normal", "iron_200"]},
        "services": ["clean", "press", "alter"],
        "work": ["trouser_hem_plain"],
    },
    {
        "kind": "coat_wool",
        "colour": "dark",
        "components": [{"part": "shell", "fibres": [{"fibre": "wool", "percent": 100}]}],
        "label": {"state": "read", "symbols": ["no_wash", "dry_clean_p", "iron_150"]},
        "stains": [{"stain": "red wine"}],
        "services": ["clean", "press"],
        "shop": {"send_out": ["dry_clean"]},
    },
    {
        "components": [{"part": "shell", "fibres": [{"fibre": "leather"}]}],
        "label": {"state": "missing"},
        "services": ["clean"],
        "shop": {"send_out": ["leather"]},
    },
]


@pytest.fixture
def bracketed() -> Iterator[set[str]]:
    """A language that puts every text in brackets; yields the texts it was asked for."""
    asked: set[str] = set()

    def translate(text: str) -> str:
        asked.add(text)
        return f"{OPEN}{text}{SHUT}"

    english = speech.translation()
    tongue = f"bracketed {next(TONGUES)}"  # a new one each time: what a language says is kept
    speech.speak_through(lambda: tongue, translate)
    try:
        yield asked
    finally:
        speech.speak_through(*english)


def outside(text: str) -> str:
    """What is left of a text without the translated parts."""
    depth, left = 0, ""
    for sign in text:
        depth -= sign == SHUT
        if depth == 0 and sign != SHUT and sign != OPEN:
            left += sign
        depth += sign == OPEN
    return left


def said_by(decision: dict[str, Any]) -> list[str]:
    said = [step["says"] for step in decision["steps"]] + decision["home"]
    said += [need["says"] for need in decision["needs"]]
    for caution in decision["cautions"]:
        said += [caution["says"], caution["do"], caution["defer_to"]]
    return [*said, *limits_in_words(read_decision(decision))]


def limits_in_words(decision: Decision) -> list[str]:
    """The limits in every voice."""
    said = [*home_care(decision), *strongest_limits(decision), *load_words(decision.load)]
    said += [line.says for line in crew_lines(decision.limits)]
    for line in treatment_lines(decision.limits):
        said += [line.name, line.words]
    return said


@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.get("kind", "leather"))
def test_every_sentence_of_a_decision_is_translated(
    piece: dict[str, Any], bracketed: set[str]
) -> None:
    decision = decide_json(piece)
    assert [text for text in said_by(decision) if WORD.search(outside(text))] == []
    assert bracketed


@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.get("kind", "leather"))
def test_only_the_sentences_change_with_the_language(
    piece: dict[str, Any], request: pytest.FixtureRequest
) -> None:
    def unsaid(decision: dict[str, Any]) -> dict[str, Any]:
        steps = [{**step, "says": ""} for step in decision["steps"]]
        cautions = [
            {**caution, "says": "", "do": "", "defer_to": ""} for caution in decision["cautions"]
        ]
        needs = [{**need, "says": ""} for need in decision["needs"]]
        unsaid = {"steps": steps, "cautions": cautions, "needs": needs, "home": []}
        return {**decision, **unsaid}

    english = unsaid(decide_json(piece))
    request.getfixturevalue("bracketed")
    assert unsaid(decide_json(piece)) == english


@pytest.mark.parametrize("path", AXES)
def test_every_value_of_a_limit_is_translated(path: str, bracketed: set[str]) -> None:
    said = [value_words(path, value_at(path, severity)) for severity in range(strictest(path) + 1)]
    assert [text for text in [limit_name(path), *said] if WORD.search(outside(text))] == []


def test_why_two_pieces_share_no_run_is_translated(bracketed: set[str]) -> None:
    decisions = [decided({**piece, "accepted": []}) for piece in PIECES]
    said = [may_share_load(a, b)[1] for a in decisions for b in decisions]
    assert [text for text in said if WORD.search(outside(text))] == []


def test_every_name_to_choose_from_is_translated(bracketed: set[str]) -> None:
    lists = (catalogue.fibres(), catalogue.stains(), catalogue.terms(), catalogue.services())
    names = [entry.name for entries in lists for entry in entries if entry.group != "service"]
    assert [name for name in names if WORD.search(outside(name))] == []


def test_the_translators_list_holds_every_text_of_the_tables_that_is_asked_for(
    bracketed: set[str],
) -> None:
    before = {row.says for row in load_table("fibres").values()}
    decide_json(PIECES[0])
    texts = set(table_texts())
    assert before <= texts & bracketed
    sayings = {text for text in texts if text.endswith(".")}
    assert sayings <= bracketed


def test_the_template_is_one_entry_for_each_text() -> None:
    entries = template().split("\n\n")
    assert len(entries) == len(table_texts()) + 1
    assert entries[0].startswith('msgid ""\n')
    assert all(entry.startswith("#. ") and "\nmsgid " in entry for entry in entries[1:])


def test_a_row_without_a_name_is_told_by_its_key_and_one_with_a_name_by_that() -> None:
    texts = table_texts()
    counted = {"name": 0, "key": 0}
    for table in PREFIX:
        for row in load_table(table).values():
            has_name = "name" in row.cells
            words = row.cells["name"] if has_name else row.bare.replace("_", " ")
            counted["name" if has_name else "key"] += 1
            assert not words or row.key in texts[words]
    assert min(counted.values()) > 0
