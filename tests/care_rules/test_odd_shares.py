"""Shares and parts as a tired hand types them: a short answer, and never a looser one.

That a part's shares come to a hundred: EU 1007/2011 Art. 9. What is asked and what is only said:
common practice, no source.
"""

from __future__ import annotations

import io
import json
from typing import Any

import pytest

from care_rules import decide_json, parse_facts
from care_rules.cli import run
from care_rules.errors import FactsError
from tests.care_rules.builders import keys, part, piece
from tests.care_rules.severity import loosened

LABEL = "wash_40 no_bleach tumble_low iron_150 no_dry_clean"
CLOSED = "no_wash no_bleach no_tumble no_iron no_dry_clean no_wet_clean"


@pytest.mark.parametrize(
    ("shares", "outcome", "said"),
    [
        ("cotton 100, polyester 50", "ask", ["composition.total"]),
        ("cotton 70, polyester 60", "ask", ["composition.total"]),
        ("cotton 70, polyester 40", "accept", ["composition.total"]),
        ("cotton 67, polyester 34", "accept", ["composition.rounding"]),
        ("cotton 33, polyester 33, viscose 33", "accept", ["composition.rounding"]),
        ("cotton 50, polyester 30", "accept", ["composition.total"]),
        ("cotton 50, polyester 50", "accept", []),
    ],
)
def test_what_is_far_above_a_hundred_is_asked_and_only_a_hair_is_rounding(
    shares: str, outcome: str, said: list[str]
) -> None:
    decision = decide_json(piece(shares, LABEL))
    sums = {"composition.total", "composition.rounding"}
    assert (decision["outcome"], sorted(sums & {*keys(decision)})) == (outcome, said)


def test_the_same_fibre_twice_is_said_once_and_asks_for_no_language() -> None:
    decision = decide_json(piece("cotton 50, cotton 50", LABEL))
    composition = [key for key in keys(decision) if key.startswith("composition")]
    assert composition == ["composition.duplicate"]
    assert decision["limits"] == decide_json(piece("cotton", LABEL))["limits"]


def test_a_list_typed_in_two_languages_is_known_for_that() -> None:
    twice = decide_json(piece("cotton 80, polyester 20, cotton 80, polyester 20", LABEL))
    assert {"composition.duplicate", "composition_rule.language"} <= {*keys(twice)}


@pytest.mark.parametrize("components", [[], [{"part": "shell"}], [{"part": "lining"}]])
def test_no_parts_at_all_are_decided_as_not_known(components: list[dict[str, Any]]) -> None:
    decision = decide_json({"components": components, "label": {"symbols": LABEL.split()}})
    assert "composition.unknown" in keys(decision)
    assert decision["limits"]["wash"]["max_c"] <= 40
    lost = decide_json({"components": components})
    assert (lost["outcome"], keys(lost, "hold")) == ("ask", ["composition.nothing_known"])


def answer(text: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    return run(["-"], io.StringIO(text), out, err), out.getvalue(), err.getvalue()


def test_a_share_of_five_thousand_digits_is_refused_at_its_field_in_one_short_line() -> None:
    share = '{"components": [{"fibres": [{"fibre": "wool", "percent": ' + "9" * 5_000 + "}]}]}"
    status, out, err = answer(share)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith("object 0: field components[0].fibres[0].percent: value ")
    assert "above 0 and at most 100" in err
    assert len(err) < 300


def test_two_hundred_thousand_words_that_name_no_fibre_get_a_short_answer_at_once() -> None:
    fibres = [{"fibre": f"nosuch{number}"} for number in range(200_000)]
    status, out, err = answer(json.dumps({"components": [{"part": "shell", "fibres": fibres}]}))
    assert (status, out) == (2, "")
    assert len(err.splitlines()) == 21
    assert len(err) < 3_000


def test_two_hundred_thousand_unknown_fibres_get_one_decision_like_that_of_one() -> None:
    many = [{"part": "shell", "fibres": [{"fibre": "unknown"}] * 200_000}]
    single = [{"part": "shell", "fibres": [{"fibre": "unknown"}]}]
    label = {"symbols": LABEL.split()}
    decision = decide_json({"components": many, "label": label})
    assert decision["limits"] == decide_json({"components": single, "label": label})["limits"]
    assert len(json.dumps(decision)) < 10_000


def test_of_many_faults_the_first_are_named_and_what_to_do() -> None:
    with pytest.raises(FactsError) as refused:
        parse_facts({"hazards": [f"none.{number}" for number in range(50)]})
    faults = refused.value.faults
    assert [fault.field for fault in faults[:20]] == [f"hazards[{at}]" for at in range(20)]
    assert [fault.field for fault in faults[20:]] == ["(whole)"]


@pytest.mark.parametrize("shell", ["leather", "suede", "fur", "sheepskin", "cork"])
@pytest.mark.parametrize("given", [[], [part("polyester", "lining")], [part("cotton")]])
def test_a_shell_for_a_specialist_turns_no_dead_end_into_a_way(
    shell: str, given: list[dict[str, Any]]
) -> None:
    closed = piece("", CLOSED) | {"components": given}
    before = decide_json(closed)
    assert before["outcome"] == "decline"
    after = decide_json(closed | {"components": [*given, part(shell)]})
    # What is known of a shell takes the place of what was not known at all.
    known = [c for c in before["cautions"] if c["key"] != "composition.unknown"]
    assert loosened(before | {"cautions": known}, after) == []
    assert (after["outcome"], after["process"]) == ("decline", "none")


def test_a_leather_jacket_with_every_symbol_crossed_goes_to_the_specialist() -> None:
    """Its make says what it is, so the crossed symbols are what its label should show."""
    jacket = piece("leather", CLOSED, construction="skin", lining="polyester")
    decision = decide_json(jacket)
    assert (decision["process"], decision["specialist"]) == ("specialist", "leather")
    named = piece("leather", CLOSED, label={"terms": ["send to a professional leather cleaner"]})
    assert decide_json(named)["specialist"] == "leather"
