"""What is wrong or still open on a draft, in the counter's words and at its exact limits."""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import FactsError, parse_facts
from counter.intake.drafts import DraftPiece
from counter.intake.faults import (
    PieceFault,
    fault_of,
    faults_of_facts,
    faults_of_rest,
    missing_price,
)
from counter.money.prices import PriceLine
from tests.building import shirt


def told(**facts: Any) -> DraftPiece:
    return DraftPiece(facts=shirt(**facts))


def part(*shares: float | None, name: str = "shell") -> dict[str, Any]:
    return {"part": name, "fibres": [{"fibre": "cotton", "percent": share} for share in shares]}


def fields(faults: Any) -> list[tuple[str, bool]]:
    return [(fault.field, fault.open) for fault in faults]


def test_a_piece_that_is_told_whole_has_no_fault() -> None:
    assert [*faults_of_facts(told(), None)] == []


@pytest.mark.parametrize(
    ("facts", "open_fields"),
    [
        ({"kind": ""}, ["kind"]),
        ({"services": []}, ["services"]),
        ({"label": {}}, ["label"]),
        ({"label": None}, ["label"]),
        ({"services": ["alter"]}, ["work"]),
        ({"services": ["alter"], "work": ["trouser_hem_plain"]}, []),
        ({"services": ["mend"]}, []),
        ({"kind": "", "services": [], "label": {}}, ["kind", "services", "label"]),
    ],
)
def test_what_is_not_told_yet_is_open(facts: dict[str, Any], open_fields: list[str]) -> None:
    faults = [*faults_of_facts(told(**facts), None)]
    assert fields(faults) == [(field, True) for field in open_fields]
    assert all(fault.says and fault.cure for fault in faults)


@pytest.mark.parametrize(
    ("shares", "says"),
    [
        ((100,), ""),
        ((60, 40), ""),
        ((33, 33, 33), ""),
        ((50, 51), ""),
        ((50, 48.9), "Outside: the fibres add up to 98.9 %."),
        ((60, 41.1), "Outside: the fibres add up to 101.1 %."),
        ((60, None), ""),
        ((None,), ""),
        ((60,), "Outside: the fibres add up to 60 %."),
        ((), ""),
    ],
)
def test_shares_that_are_all_stated_make_up_the_part(shares: tuple[Any, ...], says: str) -> None:
    """A label's figures are rounded: three thirds may print as 99."""
    faults = [*faults_of_facts(told(components=[part(*shares)]), None)]
    assert [(fault.field, fault.says, fault.open) for fault in faults] == (
        [("components", says, False)] if says else []
    )


def test_each_part_is_added_up_by_itself() -> None:
    parts = [part(60), part(100, name="lining"), part(20, 20, name="filling")]
    says = [fault.says for fault in faults_of_facts(told(components=parts), None)]
    assert says == [
        "Outside: the fibres add up to 60 %.",
        "Filling: the fibres add up to 40 %.",
    ]


@pytest.mark.parametrize(
    ("path", "value", "expected"),
    [
        ("kind", "shirt_coton",
         PieceFault("kind", "“shirt_coton” is not on the list.", "Choose one from the list.")),
        ("components[0].fibres[0].fibre", "coton",
         PieceFault("components", "“coton” is not on the list.", "Did you mean: cotton?")),
        ("components[0].fibres[0].percent", "x",
         PieceFault("components", "“x” can't be used.", "give a number.")),
        ("components[0].fibres[0].percent", 140,
         PieceFault("components", "“140” can't be used.", "give a number.")),
        ("label.terms[0]", "dry fat",
         PieceFault("terms", "“dry fat” is not on the list.", "Did you mean: dry flat?")),
        ("label.state", "lost", PieceFault("label", "“lost” can't be used.", "give a number.")),
        ("wearer", ["x"], PieceFault("wearer", "“” can't be used.", "give a number.")),
    ],
)  # fmt: skip
def test_a_fault_of_the_facts_stands_in_its_group(
    path: str, value: object, expected: PieceFault
) -> None:
    fault = fault_of(path, value, "give a number")
    assert (fault.field, fault.says, fault.open) == (expected.field, expected.says, False)
    if "Did you mean" in expected.cure:
        assert expected.cure.removeprefix("Did you mean: ").rstrip("?") in fault.cure
    elif expected.field == "wearer" or "number" in expected.cure:
        assert fault.cure == expected.cure


def test_what_the_care_rules_can_t_read_is_told_with_the_rest() -> None:
    facts = shirt(trims=["no_such"], components=[part(60)])
    with pytest.raises(FactsError) as unread:
        parse_facts(facts)
    faults = [*faults_of_facts(DraftPiece(facts=facts), unread.value)]
    assert fields(faults) == [("trims", False), ("components", False)]


@pytest.mark.parametrize(
    ("weight", "wrong"),
    [
        (0, False),
        (1, False),
        (60_000, False),
        (60_001, True),
        (-1, True),
        ("abc", True),
        (1.5, True),
    ],
)
def test_a_weight_is_whole_grams_within_reason(weight: Any, wrong: bool) -> None:
    piece = DraftPiece(facts=shirt(), weight_g=weight)
    faults = [fault for fault in faults_of_rest(piece, piece.facts) if fault.field == "weight_g"]
    assert [fault.says for fault in faults] == (
        [f"{weight} is not a weight in grams."] if wrong else []
    )
    assert all("60000" in fault.cure.replace(",", "") for fault in faults)


@pytest.mark.parametrize(
    ("name", "count", "wrong"),
    [("description", 120, False), ("description", 121, True), ("set_mark", 2, False),
     ("set_mark", 3, True)],
)  # fmt: skip
def test_words_fit_their_column(name: str, count: int, wrong: bool) -> None:
    piece = DraftPiece(facts=shirt(), **{name: "x" * count})  # type: ignore[arg-type]
    faults = [fault for fault in faults_of_rest(piece, piece.facts) if fault.field == name]
    says = [f"{'x' * min(count, 20)}… has {count} characters."] if wrong else []
    assert [fault.says for fault in faults] == says
    assert [fault.cure for fault in faults] == [f"At most {count - 1} fit."] * wrong


def test_a_line_without_a_price_is_open() -> None:
    fault = missing_price(PriceLine(1, "clean", "Clean and press", None))
    assert (fault.field, fault.says, fault.open) == (
        "prices",
        "No price for: Clean and press.",
        True,
    )
