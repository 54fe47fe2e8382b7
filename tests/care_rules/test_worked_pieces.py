"""The pieces of worked_pieces.txt: what a conservator and a cleaner answered, held to the engine.

The rows are written as those of more_cases.txt, and a fourth column names the source. The further
claims are told at the head of the table.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules import test_more_cases as more_cases


def read() -> Iterator[tuple[str, dict[str, Any], list[str], str]]:
    table = Path(__file__).with_name("worked_pieces.txt").read_text(encoding="utf-8")
    for line in table.splitlines():
        if line and not line.startswith("#"):
            name, words, wanted, source = line.split(" | ")
            yield name, more_cases.piece_of(words), wanted.split("; "), source


def main_baths(decision: dict[str, Any]) -> list[int]:
    settings = [step["settings"] for step in decision["steps"]]
    return [given["max_c"] for given in settings if given.get("bath") == "main"]


def first_baths(decision: dict[str, Any]) -> list[int]:
    """The warmth of spotting and of every bath before the main one."""
    return [
        step["settings"]["max_c"]
        for step in decision["steps"]
        if step["step"] == "pre_spot" or step["settings"].get("bath") == "first"
        if "max_c" in step["settings"]
    ]


def earlier(decision: dict[str, Any], first: str, second: str) -> bool:
    """Whether the last use of one agent comes no later than the first use of another."""
    order = [
        agent
        for step in decision["steps"]
        if step["step"] == "pre_spot"
        for agent in step["settings"].get("agents", [])
    ]
    return first not in order or second not in order or order.index(first) < order.index(second)


def stands(decision: dict[str, Any], claim: str) -> bool:
    words = claim.split()
    first, *rest = words
    if claim == "needs none":
        return bool(decision["needs"] == [])
    if first == "need":
        what, value, met = rest
        wanted = (what, None if value == "-" else int(value), met == "met")
        return wanted in [(need["what"], need["value"], need["met"]) for need in decision["needs"]]
    if first == "specialist":
        return decision["specialist"] in rest
    if first == "home":
        return bool(decision["home"]) == (rest == ["some"])
    if first == "main":
        return main_baths(decision) == [int(rest[1])]
    if first == "first" and rest[0] == "<=":
        cold = first_baths(decision)
        return bool(cold) and max(cold) <= int(rest[1])
    if first == "first":
        return earlier(decision, rest[0], rest[2])
    return more_cases.holds(decision, claim)


PIECES = list(read())
NAMES = [name for name, _, _, _ in PIECES]


def test_two_hundred_pieces_stand_once_each_and_a_third_must_pass_plainly() -> None:
    assert len(set(NAMES)) == len(NAMES) >= 200
    plain = [name for name, _, wanted, _ in PIECES if "outcome accept" in wanted]
    assert len(plain) >= len(PIECES) / 3
    assert [name for name, _, _, source in PIECES if not source.strip()] == []


@pytest.mark.parametrize("case", PIECES, ids=NAMES)
def test_the_answer_of_the_second_hand_stands(
    case: tuple[str, dict[str, Any], list[str], str],
) -> None:
    _, facts, wanted, _ = case
    decision = decide_json(facts)
    assert [claim for claim in wanted if not stands(decision, claim)] == []
