"""The text of a decision: the very text that its JSON values make, whoever was written before."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given

from care_rules import Decision, decide, parse_facts, speech
from care_rules.cli import run
from care_rules.written import written
from tests.care_rules.builders import decided, piece
from tests.care_rules.strategies import QUICK, facts
from tests.care_rules.test_ordinary import CASES


def plain(decision: Decision) -> str:
    return json.dumps(decision.as_json(), ensure_ascii=False)


@pytest.mark.parametrize("garment", [case[1] for case in CASES], ids=[case[0] for case in CASES])
def test_an_ordinary_decision_is_written_as_its_values_are(garment: dict[str, Any]) -> None:
    decision = decide(parse_facts(garment))
    assert written(decision) == plain(decision)


@QUICK
@given(facts())
def test_any_decision_is_written_as_its_values_are(garment: dict[str, Any]) -> None:
    decision = decide(parse_facts(garment))
    assert written(decision) == plain(decision)


@pytest.mark.parametrize("name", ["", 'a "quoted" name', "line\nbreak \\ and tab\t", "Läufer 😀"])
def test_any_name_of_a_piece_is_written(name: str) -> None:
    decision = decided(piece("wool", "wash_30_very_mild") | {"id": name})
    assert json.loads(written(decision))["id"] == name
    assert written(decision) == plain(decision)


def test_two_steps_that_differ_in_their_settings_alone_are_written_apart() -> None:
    decision = decided(piece("cotton", "wash_60 iron_200"))
    bath = next(step for step in decision.steps if step.step == "wash")
    cooler = replace(bath, settings=bath.settings | {"max_c": bath.settings["max_c"] - 1})
    for step in (bath, cooler, bath):
        alone = replace(decision, steps=(step,))
        assert written(alone) == plain(alone)


def test_what_was_written_in_one_language_is_not_read_in_another() -> None:
    garment = piece("wool", "wash_40 iron_150", stains=["red wine"], trims=["sequins"])
    english = speech.translation()
    before = written(decided(garment))
    try:
        speech.speak_through(lambda: "written", lambda text: f"<{text}>")
        other = decided(garment)
        assert written(other) == plain(other) != before
    finally:
        speech.speak_through(*english)
    assert written(decided(garment)) == before


def test_the_command_prints_that_text() -> None:
    garments = [dict(case[1], id=str(number)) for number, case in enumerate(CASES[:40])]
    out = io.StringIO()
    assert run(["-"], io.StringIO(json.dumps(garments)), out, io.StringIO()) == 0
    values = [decide(parse_facts(garment)).as_json() for garment in garments]
    assert out.getvalue() == json.dumps(values, ensure_ascii=False) + "\n"
