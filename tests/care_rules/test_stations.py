"""Each step of a route is done where the trade does it.

The table is written down by hand: common practice, no source. Whoever has the piece in hand does
the step; a wet piece is looked at beside its machine, since it must not travel to the checker.
"""

from __future__ import annotations

from typing import Any

from care_rules import decide_json
from tests.care_rules.builders import piece
from tests.care_rules.garments import FULL_COTTON, GARMENTS
from tests.care_rules.more_garments import MORE_GARMENTS

STATIONS = {
    "check": {"counter"},
    "remove_trim": {"bench"},
    "stabilise": {"bench"},
    "unpick": {"bench"},
    "test": {"spotting"},
    "pre_spot": {"spotting"},
    "rinse": {"spotting"},
    "wash": {"wash"},
    "wet_check": {"wash", "check"},
    "dry": {"dry"},
    "cool_down": {"dry"},
    "mend": {"bench"},
    "press": {"press"},
    "inspect": {"check"},
    "assemble": {"counter"},
    "send_out": {"send_out"},
}
"""Steps by key, with every station where one may stand."""

BENCH_WORK: dict[str, Any] = piece(
    "cotton", FULL_COTTON, kind="trousers_chino", services=["clean", "alter"],
    work=["trouser_hem_let_down"],
)  # fmt: skip
STAINED: dict[str, Any] = piece("cotton", FULL_COTTON, stains=["red wine"])
STAINED_AND_SENT_OUT: dict[str, Any] = piece(
    "wool", "no_wash no_tumble iron_150 dry_clean_p", stains=["red wine"],
    services=["clean", "press"],
)  # fmt: skip


def places(facts: dict[str, Any]) -> set[tuple[str, str]]:
    """Step and station of each step of the route."""
    return {(step["step"], step["station"]) for step in decide_json(facts)["steps"]}


def test_each_step_is_done_where_the_trade_does_it() -> None:
    garments = [case[1] for case in [*GARMENTS, *MORE_GARMENTS]]
    seen: dict[str, set[str]] = {}
    for facts in [*garments, BENCH_WORK, STAINED_AND_SENT_OUT]:
        for step, station in places(facts):
            seen.setdefault(step, set()).add(station)
    assert seen == STATIONS


def test_a_wet_piece_is_looked_at_beside_its_machine_and_a_dry_one_by_the_checker() -> None:
    assert ("wet_check", "wash") in places(STAINED)
    assert ("wet_check", "check") in places(STAINED_AND_SENT_OUT)
