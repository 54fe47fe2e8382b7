"""Decisions held against second_hand.txt: figures typed from sources and not from the tables."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules.builders import piece
from tests.care_rules.severity import flat, strictness

#: Every treatment at its widest, on a label whose two dryer dots are read as they are meant.
ALLOWING_ALL = {
    "state": "read",
    "market": "iso",
    "symbols": [
        "wash_95", "bleach_any", "tumble_normal", "line_dry", "iron_200", "dry_clean_p",
        "wet_clean_w",
    ],
}  # fmt: skip


def read(section: str) -> Iterator[list[str]]:
    table = Path(__file__).with_name("second_hand.txt").read_text(encoding="utf-8")
    _, _, rest = table.partition(f"[{section}]\n")
    for line in rest.partition("\n[")[0].splitlines():
        if line and not line.startswith("#"):
            yield line.split(" | ")


FIBRES, TRIMS, STAINS = (list(read(section)) for section in ("fibres", "trims", "stains"))


def decided(fibre: str, **more: Any) -> dict[str, Any]:
    more = {"construction": "woven", "label": ALLOWING_ALL} | more
    return decide_json(piece(fibre, **more))


def solvents(limits: dict[str, Any]) -> str:
    return "".join(limits["dry_clean.solvents"]) or "none"


def test_the_table_names_what_a_shop_meets_daily_and_a_source_for_each() -> None:
    assert (len(FIBRES) >= 40, len(TRIMS) >= 30, len(STAINS) >= 30) == (True, True, True)
    assert [row[0] for row in [*FIBRES, *TRIMS, *STAINS] if not row[-1].strip()] == []


#: The columns of the fibres and what each is called in a decision.
CELLS = (
    "wash.max_c", "wash.action", "bleach", "tumble", "iron.max_c", "iron.steam",
    "dry_clean.solvents",
)  # fmt: skip


def value_of(path: str, cell: str) -> Any:
    if path.endswith("max_c"):
        return int(cell)
    if path.endswith("solvents"):
        return [] if cell == "none" else list(cell)
    return cell == "yes" if path.endswith("steam") else cell


@pytest.mark.parametrize("row", FIBRES, ids=[row[0] for row in FIBRES])
def test_a_fibre_stands_what_its_sources_say(row: list[str]) -> None:
    fibre, *cells, _ = row
    typed = dict(zip(CELLS, cells, strict=True))
    limits = flat(decided(fibre))
    firm = {path: cell for path, cell in typed.items() if not cell.startswith("~")}
    assert {path: limits[path] for path in firm} == {
        path: value_of(path, cell) for path, cell in firm.items()
    }
    silent = flat(decided(fibre, label={"state": "missing"}))
    assert [
        path
        for path, cell in typed.items()
        if strictness(path, silent[path]) < strictness(path, value_of(path, cell.lstrip("~")))
    ] == []


#: What a trim may ask of the load and of the iron, by the word of the table.
MUST = {
    "bag": "load.mesh_bag", "inside_out": "load.inside_out", "alone": "load.alone",
    "reverse_side": "iron.reverse_side", "press_cloth": "iron.press_cloth",
}  # fmt: skip


@pytest.mark.parametrize("row", TRIMS, ids=[row[0] for row in TRIMS])
def test_a_trim_sets_the_limits_that_its_sources_set(row: list[str]) -> None:
    trim, water, action, bleach, tumble, iron, solvent, must, level, _ = row
    decision = decided("cotton", trims=[trim])
    limits = flat(decision)
    assert {
        "water": limits["wash.max_c"], "action": limits["wash.action"],
        "bleach": limits["bleach"], "tumble": limits["tumble"], "iron": limits["iron.max_c"],
        "solvents": solvents(limits), "must": {word for word in MUST if limits[MUST[word]]},
        "level": [c["level"] for c in decision["cautions"] if c["key"] == f"trim.{trim}"],
    } == {
        "water": int(water), "action": action, "bleach": bleach, "tumble": tumble,
        "iron": int(iron), "solvents": solvent, "must": set(must.split()) - {"-"},
        "level": [] if level == "-" else [level],
    }  # fmt: skip


@pytest.mark.parametrize("row", STAINS, ids=[row[0] for row in STAINS])
def test_a_stain_is_met_as_its_sources_say(row: list[str]) -> None:
    stain, kind, warmest, sets, bleach, never, _ = row
    decision = decided("cotton", stains=[stain])
    spotting = [s["settings"] for s in decision["steps"] if s["step"] == "pre_spot"]
    agents = {agent for settings in spotting for agent in settings.get("agents", [])}
    first = [settings["max_c"] for settings in spotting if "max_c" in settings]
    assert max(first, default=0) <= int(warmest)
    assert decision["limits"]["bleach"] == bleach
    assert sorted(agents & set(never.split())) == []
    checked = "wet_check" in [step["step"] for step in decision["steps"]]
    assert checked == (sets == "yes")
    if kind == "protein":
        assert max(first) <= 40
        assert {"enzyme", "detergent"} & agents
    if kind == "oil or grease":
        assert {"detergent", "solvent", "absorbent"} & agents
    if kind == "mineral":
        assert "acid" in agents or stain == "mildew"
