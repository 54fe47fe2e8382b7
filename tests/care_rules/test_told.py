"""The facts of a piece as the conditions of the tables ask for them."""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import cli, parse_facts
from care_rules.tables import book
from care_rules.told import told
from tests.care_rules.builders import piece


def facts_told(**changes: Any) -> set[str]:
    return told(parse_facts(piece("wool 80, polyamide 20", "wash_30", **changes)), book())


def test_every_fact_is_told_under_its_field() -> None:
    facts = facts_told(
        kind="hivis_jacket",
        construction="knit",
        colour="dark",
        trims=["sequins"],
        stains=["blood"],
        damage=["tear"],
        services=["clean"],
        hazards=["body.blood"],
    )
    assert {
        "kind:hivis_jacket", "construction:knit", "colour:dark", "part:shell", "blend:yes",
        "fibre:wool", "fibre:polyamide", "trim:sequins", "stain:blood", "damage:tear",
        "service:clean", "hazard:body.blood",
    } <= facts  # fmt: skip
    assert not {"sewing:yes", "cuts:yes"} & facts


@pytest.mark.parametrize(
    ("changes", "sewing", "cuts"),
    [
        ({"services": ["mend"]}, True, False),
        ({"services": ["alter"]}, True, False),
        ({"services": ["mend"], "work": ["button_replace"]}, True, False),
        ({"services": ["alter"], "work": ["trouser_hem_plain"]}, True, True),
        ({"services": ["clean"]}, False, False),
    ],
)
def test_sewing_is_told_and_cutting_where_an_operation_cuts(
    changes: dict[str, Any], sewing: bool, cuts: bool
) -> None:
    facts = facts_told(**changes)
    assert ("sewing:yes" in facts, "cuts:yes" in facts) == (sewing, cuts)
    assert any(book()["work"][key].flag("cuts") for key in changes.get("work", ())) is cuts


def test_one_fibre_is_no_blend() -> None:
    facts = told(parse_facts(piece("wool", "wash_30")), book())
    assert "blend:yes" not in facts
    assert "fibre:wool" in facts


@pytest.mark.parametrize(
    ("length", "shown"), [(118, '"' + "x" * 118 + '"'), (119, '"' + "x" * 116 + "...")]
)
def test_a_value_is_shown_in_at_most_120_characters(length: int, shown: str) -> None:
    assert cli._shown("x" * length) == shown
    assert len(shown) == 120
