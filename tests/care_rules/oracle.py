"""A second, deliberately naive reading of the rules, to hold the engine's limits against.

It reads symbols from figures written down here by hand and fibres, trims, stains and colours
from their table cells by plain text splitting; it shares no code with the engine and knows
nothing of processes, routes or reasons.

Figures: GINETEX table of textile care symbols (washing 30 to 95 °C; ironing 200, 150 and 110 °C,
the lowest without steam; dryer 80 and 60 °C), the same in JIS L 0001:2014; iron figures of the
2023 edition from summaries of JIS L 0001:2024.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Any

import care_rules
from tests.care_rules.severity import flat, strictness

DATA = Path(care_rules.__file__).parent / "data"


def rows(name: str) -> dict[str, dict[str, str]]:
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return {row["key"]: row for row in csv.DictReader(file)}


FIBRES, TRIMS, COLOURS, STAINS = (rows(n) for n in ("fibres", "trims", "colours", "stains"))


def symbol_limits(symbol: str, edition: str, market: str) -> dict[str, Any]:
    """What a symbol allows at most, as limit path to value."""
    if match := re.fullmatch(r"wash_(\d+)(_mild|_very_mild)?", symbol):
        action = (match[2] or "_normal")[1:]
        spin = "normal" if action == "normal" else "reduced"
        return {"wash.max_c": int(match[1]), "wash.action": action, "wash.spin": spin}
    if symbol in ("hand_wash", "hand_wash_30"):
        return {"wash.max_c": 30 if "30" in symbol else 40, "wash.hand_only": True}
    if match := re.fullmatch(r"iron_(200|150|110)", symbol):
        older = int(match[1])
        if edition == "2023":
            return {"iron.max_c": older + 10}
        return {"iron.max_c": older} | ({"iron.steam": False} if older == 110 else {})
    if match := re.fullmatch(r"(?:legacy_)?dry_clean_([paf])(_mild|_very_mild)?", symbol):
        solvents = ["F"] if match[1] == "f" else ["P", "F"]
        return {
            "dry_clean.solvents": solvents,
            "dry_clean.action": (match[2] or "_normal")[1:],
        }
    if match := re.fullmatch(r"wet_clean_w(_mild|_very_mild)?", symbol):
        return {"wet_clean.action": (match[1] or "_normal")[1:]}
    if match := re.fullmatch(r"(drip_)?(line|flat)_dry(_shade)?", symbol):
        return {
            "air_dry.drip": bool(match[1]),
            "air_dry.hang": match[2] == "line",
            "air_dry.shade": bool(match[3]),
            "wash.spin": "none" if match[1] else "normal",
        }
    two_dots = "normal" if market in ("iso", "jp") else "low"
    return {
        "no_wash": {"wash.allowed": False, "wash.max_c": 0},
        "us_do_not_wring": {"wash.spin": "none"},
        "bleach_any": {"bleach": "any"},
        "bleach_oxygen_only": {"bleach": "oxygen"},
        "no_bleach": {"bleach": "none"},
        "tumble_normal": {"tumble": two_dots},
        "tumble_low": {"tumble": "low"},
        "us_tumble_medium": {"tumble": "low"},
        "us_tumble_no_heat": {"tumble": "no_heat"},
        "no_tumble": {"tumble": "none"},
        "iron_120_no_steam": {"iron.max_c": 120, "iron.steam": False},
        "no_iron": {"iron.max_c": 0, "iron.steam": False},
        "no_dry_clean": {"dry_clean.solvents": []},
        "no_wet_clean": {"wet_clean.allowed": False},
    }[symbol]


def cell_limits(row: dict[str, str], defaults: bool) -> list[tuple[str, Any]]:
    """The limits column of a row; those marked default only when they are asked for."""
    found = []
    for part in row["limits"].split(";"):
        if not part.strip():
            continue
        path, value = part.strip().split("=")
        value, _, strength = value.partition("@")
        if strength == "default" and not defaults:
            continue
        found.append((path, typed(path, value)))
    return found


def typed(path: str, value: str) -> Any:
    if path.endswith("max_c"):
        return int(value)
    if path.endswith("solvents"):
        return {"PF": ["P", "F"], "F": ["F"], "none": []}[value]
    return {"true": True, "false": False}.get(value, value)


def ceilings(facts: dict[str, Any]) -> list[tuple[str, str, Any]]:
    """Every limit that some fact sets, as (who, path, value)."""
    label = facts["label"]
    found: list[tuple[str, str, Any]] = []
    for symbol in label.get("symbols", []):
        limits = symbol_limits(symbol, label.get("edition", ""), label.get("market", ""))
        found += [(symbol, path, value) for path, value in limits.items()]
    parts = facts["components"] or [{"fibres": []}]
    for part in parts:
        for share in part["fibres"] or [{"fibre": "unknown"}]:
            row = FIBRES[share["fibre"]]
            found += [(share["fibre"], *pair) for pair in cell_limits(row, defaults=False)]
    for trim in facts.get("trims", []):
        row = TRIMS.get(trim) or COLOURS[trim]
        if not row.get("lifts"):
            found += [(trim, *pair) for pair in cell_limits(row, defaults=False)]
    for stain in facts.get("stains", []):
        row = STAINS[stain["stain"]]
        found += [(stain["stain"], *pair) for pair in cell_limits(row, defaults=False)]
    colour = COLOURS[facts.get("colour", "unknown")]
    found += [("colour", *pair) for pair in cell_limits(colour, defaults=False)]
    if label["state"] != "read":
        found += [
            ("no label", "wash.max_c", 40), ("no label", "wash.action", "mild"),
            ("no label", "bleach", "none"), ("no label", "tumble", "low"),
            ("no label", "iron.max_c", 150),
        ]  # fmt: skip
    return found


def past_a_limit(facts: dict[str, Any], decision: dict[str, Any]) -> list[str]:
    """Which limits of the decision are looser than some fact allows."""
    limits = flat(decision)
    return [
        f"{who}: {path} {limits[path]!r} past {value!r}"
        for who, path, value in ceilings(facts)
        if strictness(path, limits[path]) < strictness(path, value)
    ]


def needlessly_strict(facts: dict[str, Any], decision: dict[str, Any]) -> list[str]:
    """Which temperatures are lower than every fact asks for (pieces with full labels only)."""
    limits = flat(decision)
    found = []
    for path in ("wash.max_c", "iron.max_c"):
        least = min([value for _, p, value in ceilings(facts) if p == path], default=None)
        banned = any(p == "wash.allowed" for _, p, _ in ceilings(facts)) and path == "wash.max_c"
        if least is not None and not banned and limits[path] < least:
            found.append(f"{path} {limits[path]} below {least}")
    return found
