"""Ordinary garments with full labels are taken in, by the process a careful cleaner would choose.

The choices are common practice, no source, unless a case names one.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules.builders import piece, step, steps
from tests.care_rules.garments import FULL_COTTON, GARMENTS
from tests.care_rules.more_garments import MORE_GARMENTS

CASES = [*GARMENTS, *MORE_GARMENTS]


@pytest.mark.parametrize(
    ("facts", "process", "where"), [case[1:4] for case in CASES], ids=[case[0] for case in CASES]
)
def test_an_ordinary_garment_is_taken(facts: dict[str, Any], process: str, where: str) -> None:
    decision = decide_json(facts)
    holds = [c["key"] for c in decision["cautions"] if c["level"] in ("hold", "refuse")]
    assert (decision["outcome"], holds) == ("accept", [])
    assert (decision["process"], decision["where"]) == (process, where)


def test_there_are_many_ordinary_garments_each_told_once_with_a_reason() -> None:
    assert len({case[0] for case in CASES}) == len(CASES) >= 100
    assert len({case[4] for case in CASES}) > 90
    assert all(case[4].endswith(".") for case in CASES)


def test_a_cotton_shirt_goes_through_the_shop_in_the_usual_order() -> None:
    decision = decide_json(
        piece("cotton", FULL_COTTON, stains=["red wine"], services=["clean", "press"])
    )
    assert steps(decision) == [
        "check", "pre_spot", "rinse", "wash", "wet_check", "dry", "cool_down", "press",
        "inspect", "assemble",
    ]  # fmt: skip


def test_a_suit_that_is_sent_out_is_not_washed_here() -> None:
    decision = decide_json(
        piece("wool", "no_wash no_tumble iron_150 dry_clean_p", trims=["buttons_plastic"])
    )
    assert steps(decision) == ["check", "remove_trim", "send_out", "mend", "inspect", "assemble"]
    assert step(decision, "send_out")["settings"]["to"] == "dry_clean"
    assert step(decision, "mend")["settings"]["put_back"] == ["buttons_plastic"]
