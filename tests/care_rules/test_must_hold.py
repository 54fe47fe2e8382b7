"""What must always hold, for generated pieces: the nine statements of the care rules.

Each of nine properties has a quick set of 300 pieces (2,700 in all) and a slow one of 22,500
(202,500 in all). The draws are the same each time; set CARE_EXAMPLES to draw more.
"""

from __future__ import annotations

import copy
import os
import random
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_rules import decide_json, rule
from care_rules.tables import book
from tests.care_rules import oracle
from tests.care_rules.builders import piece
from tests.care_rules.severity import flat, loosened, strictness
from tests.care_rules.strategies import (
    EACH,
    FIBRES,
    HAZARDS,
    HEAVY,
    QUICK,
    STAINS,
    SYMBOLS,
    TRIMS,
    facts,
)

Check = Callable[..., None]


def within_limits(decision: dict[str, Any]) -> None:
    """Statement 1 on the steps: no setting is past the piece's limits."""
    limits = decision["limits"]
    wash, iron = limits["wash"], limits["iron"]
    actions = ["normal", "mild", "very_mild"]
    for step in decision["steps"]:
        settings, name = step["settings"], step["step"]
        if name == "wash" and settings["process"] in ("machine_wash", "hand_wash"):
            assert wash["allowed"]
            assert settings["max_c"] <= wash["max_c"]
            assert actions.index(settings["action"]) >= actions.index(wash["action"])
            assert settings["process"] == "hand_wash" or not wash["hand_only"]
            spins = ["normal", "reduced", "none"]
            assert spins.index(settings["spin"]) >= spins.index(wash["spin"])
        elif name == "wash" and settings["process"] == "dry_clean":
            assert settings["solvent"] in limits["dry_clean"]["solvents"]
        elif name == "wash" and settings["process"] == "wet_clean":
            assert limits["wet_clean"]["allowed"]
        elif name == "pre_spot":
            assert settings.get("max_c", 0) <= wash["max_c"]
            assert "chlorine" not in settings["agents"]
            assert "peroxide" not in settings["agents"] or limits["bleach"] != "none"
        elif name == "dry":
            tumbles = ["normal", "low", "no_heat", "none"]
            assert tumbles.index(settings["tumble"]) >= tumbles.index(limits["tumble"])
            assert settings["method"] != "hang" or limits["air_dry"]["hang"]
        elif name == "press":
            assert settings["max_c"] <= iron["max_c"]
            assert iron["steam"] or not settings["steam"]
            assert settings["reverse_side"] or not iron["reverse_side"]
            assert settings["press_cloth"] or not iron["press_cloth"]
        elif name == "send_out" and settings["to"] == "dry_clean":
            assert set(settings["solvents"]) <= set(limits["dry_clean"]["solvents"])
            assert settings["solvents"]
        if name == "wash" and settings.get("bleach", "none") != "none":
            assert limits["bleach"] in ("any", settings["bleach"])


def check_bounds(facts: dict[str, Any]) -> None:
    decision = decide_json(facts)
    within_limits(decision)
    assert oracle.past_a_limit(facts, decision) == []
    assert oracle.needlessly_strict(facts, decision) == []


def check_monotone(facts: dict[str, Any], where: int, pick: int) -> None:
    harder = add_restriction(facts, where, pick)
    assert loosened(decide_json(facts), decide_json(harder)) == []


def add_restriction(facts: dict[str, Any], where: int, pick: int) -> dict[str, Any]:
    """The same piece with one more fibre, part, trim, stain, damage or hazard."""
    harder = copy.deepcopy(facts)
    kind = where % 6
    if kind == 0:
        part = harder["components"][pick % len(harder["components"])]
        fibre = FIBRES[pick % len(FIBRES)]
        if fibre not in [share["fibre"] for share in part["fibres"]]:
            part["fibres"].append({"fibre": fibre})
    elif kind == 1:
        name = ("lining", "filling", "trim", "other", "shell")[pick % 5]
        fibre = FIBRES[pick % len(FIBRES)]
        harder["components"].append({"part": name, "fibres": [{"fibre": fibre}]})
    elif kind == 2:
        harder["trims"].append(TRIMS[pick % len(TRIMS)])
    elif kind == 3:
        harder["stains"].append({"stain": STAINS[pick % len(STAINS)]})
    elif kind == 4:
        harder["damage"].append(("tear", "hole", "worn_cloth", "open_seam")[pick % 4])
    else:
        harder["hazards"].append(HAZARDS[pick % len(HAZARDS)])
    return harder


looked_up = cache(rule)


def check_reasons(facts: dict[str, Any]) -> None:
    decision = decide_json(facts)
    assert oracle.wrongly_named(facts, decision) == []
    named = set(decision["because"])
    for path, value in flat(decision).items():
        if strictness(path, value) > strictness(path, OPEN[path]):
            assert path in named, path
    for keys in decision["because"].values():
        assert keys
        assert keys == sorted(set(keys))
    every = [key for keys in decision["because"].values() for key in keys]
    every += [key for step in decision["steps"] for key in step["because"]]
    every += [key for c in decision["cautions"] for key in [c["key"], *c["because"]]]
    for key in every:
        row = looked_up(key)
        assert row.source
        assert row.status in ("read", "practice", "memory", "partly")
        assert row.strength in ("physical", "usual", "common", "default")
    for step in decision["steps"]:
        assert step["because"], step
        assert step["says"].endswith(".")
        assert step["station"]


OPEN = oracle.OPEN | {"wash.allowed": True}


def check_order(facts: dict[str, Any], seed: int) -> None:
    other = copy.deepcopy(facts)
    shuffle = random.Random(seed).shuffle
    for field in ("components", "trims", "stains", "damage", "hazards", "services", "work"):
        shuffle(other[field])
    for part in other["components"]:
        shuffle(part["fibres"])
    for field in ("symbols", "terms"):
        shuffle(other["label"][field])
    for field in ("dry_cleaning", "send_out"):
        shuffle(other["shop"][field])
    assert decide_json(facts) == decide_json(other)


def check_outcome(facts: dict[str, Any]) -> None:
    decision = decide_json(facts)
    levels = {(c["level"], c["scope"]) for c in decision["cautions"]}
    holds = [c["key"] for c in decision["cautions"] if c["level"] == "hold"]
    if ("refuse", "piece") in levels:
        assert decision["outcome"] == "decline"
        assert (decision["process"], decision["steps"]) == ("none", [])
    else:
        assert decision["outcome"] == ("ask" if holds else "accept")
        assert decision["steps"]
        if "clean" in (facts["services"] or ["clean"]):
            assert decision["process"] != "none"
    accepted = decide_json(facts | {"accepted": holds})
    assert accepted["outcome"] == {"ask": "accept"}.get(decision["outcome"], decision["outcome"])
    same = ("process", "where", "limits", "load", "steps", "cautions", "because")
    assert {k: accepted[k] for k in same} == {k: decision[k] for k in same}


def check_contradiction(facts: dict[str, Any], group: str, first: int, second: int) -> None:
    """Statement 7: two symbols of a group give the strictest of both, and a hold naming both."""
    able = [s for s in SYMBOLS[group] if s != "us_do_not_wring"]
    a, b = able[first % len(able)], able[second % len(able)]
    others = [s for s in facts["label"]["symbols"] if s not in SYMBOLS[group]]
    label = facts["label"] | {"state": "read", "terms": []}

    def decided(*symbols: str) -> dict[str, Any]:
        return decide_json(facts | {"label": label | {"symbols": [*others, *symbols]}})

    both, alone = decided(a, b), [decided(a), decided(b)]
    for path, value in flat(both).items():
        strictest = max(strictness(path, flat(single)[path]) for single in alone)
        assert strictness(path, value) == strictest, path
    held = [c for c in both["cautions"] if c["key"] == f"label.contradiction.{group}"]
    if a == b:
        assert held == []
    else:
        assert [c["level"] for c in held] == ["hold"]
        assert {f"label.{a}", f"label.{b}"} <= set(held[0]["because"])
        for name in (a, b):
            assert book()["symbols"][name].cells["name"] in held[0]["says"]


def check_mixtures(facts: dict[str, Any]) -> None:
    """Statement 8: agents that must not meet never stand in one route without a rinse between."""
    pairs = {frozenset((m.cells["first"], m.cells["second"])) for m in book()["mixtures"].values()}
    used: set[str] = set()
    for step in decide_json(facts)["steps"]:
        agents = set(step["settings"].get("agents", []))
        if step["step"] == "wash":
            agents |= {"oxygen": {"peroxide"}, "any": {"chlorine"}}.get(
                step["settings"].get("bleach", "none"), set()
            )
        if step["step"] == "rinse":
            used = set()
        for agent in agents:
            for other in (used | agents) - {agent}:
                assert frozenset((agent, other)) not in pairs, (agent, other)
        used |= agents


GROUPS = st.sampled_from(sorted(SYMBOLS))
PICK = st.integers(0, 10_000)


@QUICK
@given(facts())
def test_no_step_goes_past_a_limit(garment: dict[str, Any]) -> None:
    check_bounds(garment)


@QUICK
@given(facts(), st.integers(0, 5), PICK)
def test_a_restriction_never_loosens_anything(
    garment: dict[str, Any], where: int, pick: int
) -> None:
    check_monotone(garment, where, pick)


@QUICK
@given(facts())
def test_every_limit_names_rules_that_can_be_looked_up(garment: dict[str, Any]) -> None:
    check_reasons(garment)


@QUICK
@given(facts(), PICK)
def test_the_order_of_lists_changes_nothing(garment: dict[str, Any], seed: int) -> None:
    check_order(garment, seed)


@QUICK
@given(facts())
def test_the_outcome_follows_from_the_cautions(garment: dict[str, Any]) -> None:
    check_outcome(garment)


@QUICK
@given(facts(), GROUPS, PICK, PICK)
def test_contradictory_symbols_take_the_strictest_and_hold(
    garment: dict[str, Any], group: str, first: int, second: int
) -> None:
    check_contradiction(garment, group, first, second)


@QUICK
@given(facts())
def test_agents_that_must_not_meet_are_parted_by_a_rinse(garment: dict[str, Any]) -> None:
    check_mixtures(garment)


#: From looser to stricter, each symbol allowing no more than the one before on any axis.
STRICTER = [
    ["wash_95", "wash_70", "wash_60", "wash_50", "wash_40", "wash_30", "wash_30_mild",
     "wash_30_very_mild", "hand_wash_30", "no_wash"],
    ["wash_60", "wash_60_mild", "wash_50_mild", "wash_40_mild", "wash_40_very_mild", "hand_wash",
     "no_wash"],
    ["bleach_any", "bleach_oxygen_only", "no_bleach"],
    ["tumble_normal", "tumble_low", "us_tumble_no_heat", "no_tumble"],
    ["us_tumble_medium", "us_tumble_no_heat", "no_tumble"],
    ["line_dry", "drip_line_dry", "drip_line_dry_shade", "drip_flat_dry_shade"],
    ["line_dry", "flat_dry", "flat_dry_shade", "drip_flat_dry_shade"],
    ["iron_200", "iron_150", "iron_110", "no_iron"],
    ["iron_200", "iron_150", "iron_120_no_steam", "no_iron"],
    ["legacy_dry_clean_a", "dry_clean_p_mild", "dry_clean_p_very_mild", "dry_clean_f_very_mild",
     "no_dry_clean"],
    ["dry_clean_p", "dry_clean_f", "dry_clean_f_mild", "no_dry_clean"],
    ["wet_clean_w", "wet_clean_w_mild", "wet_clean_w_very_mild", "no_wet_clean"],
]  # fmt: skip


def check_stricter_symbol(facts: dict[str, Any], chain: int, first: int, second: int) -> None:
    """Statement 2 for symbols: a stricter one in place of a looser never loosens anything.

    What the label is said to be wrong about (``label.*`` cautions) may change with the symbol:
    "do not wash" contradicts a tub with 40, and no longer contradicts a crossed tub.
    """
    symbols = STRICTER[chain % len(STRICTER)]
    low, high = sorted((first % len(symbols), second % len(symbols)))
    group = next(g for g, members in SYMBOLS.items() if symbols[0] in members)
    others = [s for s in facts["label"]["symbols"] if s not in SYMBOLS[group]]

    def decided(symbol: str) -> dict[str, Any]:
        label = facts["label"] | {"symbols": [*others, symbol]}
        return decide_json(facts | {"label": label, "accepted": [f"label.contradiction.{group}"]})

    before, after = decided(symbols[low]), decided(symbols[high])
    cautions = [c for c in before["cautions"] if not c["key"].startswith("label.")]
    assert loosened(before | {"cautions": cautions}, after) == []


@QUICK
@given(facts(), PICK, PICK, PICK)
def test_a_stricter_symbol_never_loosens_anything(
    garment: dict[str, Any], chain: int, first: int, second: int
) -> None:
    check_stricter_symbol(garment, chain, first, second)


def check_lost_label(facts: dict[str, Any], state: str) -> None:
    """Losing a label is never gentler evidence than one that says nothing of a treatment."""
    silent = facts["label"] | {"state": "read", "symbols": [], "terms": []}
    lost = silent | {"state": state}
    before = decide_json(facts | {"label": silent})
    after = decide_json(facts | {"label": lost})
    cautions = [c for c in before["cautions"] if not c["key"].startswith("label.")]
    assert loosened(before | {"cautions": cautions}, after) == []


@QUICK
@given(facts(), st.sampled_from(["missing", "unreadable"]))
def test_losing_the_label_is_never_gentler_than_its_silence(
    garment: dict[str, Any], state: str
) -> None:
    check_lost_label(garment, state)


def test_the_slow_set_draws_at_least_two_hundred_thousand_pieces() -> None:
    assert EACH * 9 >= 200_000 or "CARE_EXAMPLES" in os.environ


@pytest.mark.slow
@pytest.mark.parametrize(
    ("check", "drawn"),
    [
        (check_bounds, ()),
        (check_monotone, (st.integers(0, 5), PICK)),
        (check_reasons, ()),
        (check_order, (PICK,)),
        (check_outcome, ()),
        (check_contradiction, (GROUPS, PICK, PICK)),
        (check_mixtures, ()),
        (check_stricter_symbol, (PICK, PICK, PICK)),
        (check_lost_label, (st.sampled_from(["missing", "unreadable"]),)),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_the_properties_hold_for_many_more_pieces(check: Check, drawn: tuple[Any, ...]) -> None:
    @HEAVY
    @given(st.tuples(facts(), *drawn))
    def run(given: tuple[Any, ...]) -> None:
        check(*given)

    run()


def test_cloth_that_is_only_steamed_keeps_its_pressing_cloth() -> None:
    velvet = piece("alpaca", "wash_95 line_dry wet_clean_w", trims=["velvet_cut_pile"])
    check_bounds(velvet | {"services": ["clean", "press"]})


def test_a_label_that_names_a_closed_way_leaves_a_rug_to_its_cleaner() -> None:
    rug = piece("alpaca", "wet_clean_w", kind="rug_wool", colour="white")
    nowhere = rug | {"shop": {"wet_cleaning": False, "dry_cleaning": [], "send_out": []}}
    assert decide_json(nowhere)["outcome"] == "decline"
    for pick in range(len(FIBRES)):
        check_monotone(nowhere, 0, pick)
    away = rug | {"shop": {"wet_cleaning": False, "dry_cleaning": [], "send_out": ["leather"]}}
    assert decide_json(away)["specialist"] == "carpet"


def test_wool_that_may_not_hang_lies_flat_after_the_solvent_too() -> None:
    label = "bleach_any tumble_normal line_dry dry_clean_p"
    jumper = piece("alpaca", label, label={"terms": ["cabinet dry warm"]})
    jumper["shop"] = {"wet_cleaning": False, "dry_cleaning": ["P"], "send_out": []}
    check_bounds(jumper)
    (dry,) = [step for step in decide_json(jumper)["steps"] if step["step"] == "dry"]
    assert dry["settings"]["method"] == "flat"
