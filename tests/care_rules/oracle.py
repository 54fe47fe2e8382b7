"""A second, deliberately naive reading of the rules, to hold the engine's limits against.

It reads symbols from figures written down here by hand, and every other row from its table cells
by plain text splitting. It imports nothing of the engine and knows nothing of processes, routes
or reasons: it only lists who allows how much, and takes the strictest of each limit.

Figures: GINETEX table of textile care symbols (washing 30 to 95 °C; ironing 200, 150 and 110 °C,
the lowest without steam; dryer 80 and 60 °C), the same in JIS L 0001:2014; iron figures of the
2023 edition from summaries of JIS L 0001:2024. The gentle figures that stand in for a silent or
lost label are those of the decision contract, and for spin, solvent and wet cleaning common
practice, no source.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from tests.care_rules.severity import flat, strictness

DATA = Path(__file__).parents[2] / "care_rules" / "data"

#: who, strength, limit, value
Ceiling = tuple[str, str, str, Any]


def rows(name: str) -> dict[str, dict[str, str]]:
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return {row["key"]: row for row in csv.DictReader(file)}


FIBRES, TRIMS, COLOURS, STAINS = (rows(n) for n in ("fibres", "trims", "colours", "stains"))
KINDS, HAZARDS, DAMAGE, MAKING = (rows(n) for n in ("kinds", "hazards", "damage", "constructions"))
TERMS, WORK, COMPOSITIONS = rows("terms"), rows("work"), rows("composition_rules")
COMBINATIONS = rows("combinations")

#: Answers of a colour test in water by which the cloth bleeds.
FAILED_IN_WATER = {"colour_test_wet", "grade_stain_2", "grade_stain_1_2", "grade_stain_1"}

#: The value of each limit while nothing at all speaks against it.
OPEN: dict[str, Any] = {
    "wash.max_c": 95, "wash.action": "normal", "wash.hand_only": False, "wash.spin": "normal",
    "bleach": "any", "tumble": "normal", "air_dry.hang": True, "air_dry.drip": False,
    "air_dry.shade": False, "iron.max_c": 210, "iron.steam": True, "iron.reverse_side": False,
    "iron.press_cloth": False, "dry_clean.solvents": ["P", "F"], "dry_clean.action": "normal",
    "wet_clean.allowed": True, "wet_clean.action": "normal", "load.alone": False,
    "load.mesh_bag": False, "load.inside_out": False, "load.softener": True,
}  # fmt: skip

#: A treatment that is forbidden is as gentle as can be in every other respect too.
NO_WASH: dict[str, Any] = {
    "wash.max_c": 0, "wash.action": "very_mild", "wash.hand_only": True, "wash.spin": "none",
}  # fmt: skip
NO_DRY_CLEAN: dict[str, Any] = {"dry_clean.solvents": [], "dry_clean.action": "very_mild"}
NO_WET_CLEAN: dict[str, Any] = {"wet_clean.allowed": False, "wet_clean.action": "very_mild"}

#: What stands in while the label does not speak of a treatment.
SILENT: dict[str, dict[str, Any]] = {
    "wash": {"wash.max_c": 40, "wash.action": "mild", "wash.spin": "reduced"},
    "bleach": {"bleach": "none"},
    "tumble_dry": {"tumble": "low"},
    "natural_dry": {},
    "iron": {"iron.max_c": 150},
    "dry_clean": {"dry_clean.solvents": ["F"], "dry_clean.action": "mild"},
    "wet_clean": NO_WET_CLEAN,
}
#: Household linen needs no label: white linen and cotton stand 60 °C and oxygen bleach.
NOT_NEEDED: dict[str, dict[str, Any]] = {
    "wash": SILENT["wash"] | {"wash.max_c": 60},
    "bleach": {"bleach": "oxygen"},
}
#: What an old cloth no longer carries.
HEAVY_WORK = {"beads", "sequins", "embroidery_metallic", "print_hand_painted"}
GROUP_OF_LIMIT = {"tumble": "tumble_dry", "air_dry": "natural_dry"}


def group_of_symbol(symbol: str) -> str:
    """The treatment that a symbol speaks of; none for the mark against wringing."""
    if symbol == "us_do_not_wring":
        return ""
    if "tumble" in symbol:
        return "tumble_dry"
    if "line_dry" in symbol or "flat_dry" in symbol:
        return "natural_dry"
    return next(g for g in ("wash", "bleach", "iron", "dry_clean", "wet_clean") if g in symbol)


def symbol_limits(symbol: str, edition: str, market: str) -> dict[str, Any]:
    """What a symbol allows at most, as limit path to value."""
    if match := re.fullmatch(r"wash_(\d+)(_mild|_very_mild)?", symbol):
        action = (match[2] or "_normal")[1:]
        spin = "normal" if action == "normal" else "reduced"
        return {"wash.max_c": int(match[1]), "wash.action": action, "wash.spin": spin}
    if symbol in ("hand_wash", "hand_wash_30"):
        water = 30 if "30" in symbol else 40
        gentle = {"wash.action": "very_mild", "wash.spin": "reduced", "wash.hand_only": True}
        return {"wash.max_c": water, **gentle}
    if match := re.fullmatch(r"iron_(200|150|110)", symbol):
        older = int(match[1])
        # The editions are those of ISO 3758; a US or Canadian label keeps the ASTM figures.
        if edition == "2023" and market not in ("us", "ca"):
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
    # One dot with crossed steam: 120 °C in the 2023 edition alone, 110 °C on a US label.
    newer = market in ("iso", "jp") or (edition == "2023" and market == "unknown")
    dot_without_steam = 120 if newer else 110
    return {
        "no_wash": NO_WASH,
        "us_do_not_wring": {"wash.spin": "none"},
        "bleach_any": {"bleach": "any"},
        "bleach_oxygen_only": {"bleach": "oxygen"},
        "no_bleach": {"bleach": "none"},
        "tumble_normal": {"tumble": two_dots},
        "tumble_low": {"tumble": "low"},
        "us_tumble_medium": {"tumble": "low"},
        "us_tumble_no_heat": {"tumble": "no_heat"},
        "no_tumble": {"tumble": "none"},
        "iron_120_no_steam": {"iron.max_c": dot_without_steam, "iron.steam": False},
        "no_iron": {"iron.max_c": 0, "iron.steam": False},
        "no_dry_clean": NO_DRY_CLEAN,
        "no_wet_clean": NO_WET_CLEAN,
    }[symbol]


@cache
def cell_limits(cell: str, usually: str = "usual") -> tuple[tuple[str, str, Any], ...]:
    """A limits cell as (strength, limit, value), with bans spelt out."""
    ceilings: list[tuple[str, str, Any]] = []
    for part in cell.split(";"):
        if not part.strip():
            continue
        path, value = part.strip().split("=")
        value, _, strength = value.partition("@")
        banned = {
            "wash.allowed=false": NO_WASH,
            "wet_clean.allowed=false": NO_WET_CLEAN,
            "dry_clean.solvents=none": NO_DRY_CLEAN,
        }.get(f"{path}={value}", {path: typed(path, value)})
        ceilings += [(strength or usually, *pair) for pair in banned.items()]
    return tuple(ceilings)


def typed(path: str, value: str) -> Any:
    if path.endswith("max_c"):
        return int(value)
    if path.endswith("solvents"):
        return {"PF": ["P", "F"], "F": ["F"], "none": []}[value]
    return {"true": True, "false": False}.get(value, value)


def fold(text: str) -> str:
    return " ".join(text.casefold().split())


@cache
def term_rows(term: str) -> tuple[dict[str, str], ...]:
    """The rows whose whole cell, or one of whose alternatives parted by " / ", is the term."""
    return tuple(row for key, row in TERMS.items() if fold(term) in spellings(key))


def spellings(cell: str) -> set[str]:
    whole = fold(cell)
    bare, _, bracket = whole.partition(" (")
    if not whole.endswith(")") or not bare:
        bare, bracket = whole, ""
    parts = bare.split(" / ")
    return {whole, bare, *parts, *(f"{part} ({bracket}" for part in parts if bracket)}


def spoken_of(label: dict[str, Any]) -> set[str]:
    """The treatments that a readable label speaks of, in drawings or in words."""
    if label["state"] != "read":
        return set()
    symbols = list(label.get("symbols", []))
    for term in label.get("terms", []):
        for row in term_rows(term):
            symbols += filter(None, row["symbols"].split(";"))
    return {group_of_symbol(symbol) for symbol in symbols} - {""}


def label_ceilings(label: dict[str, Any]) -> Iterator[Ceiling]:
    for symbol in label.get("symbols", []):
        limits = symbol_limits(symbol, label.get("edition", ""), label.get("market", ""))
        yield from ((symbol, "physical", path, value) for path, value in limits.items())
    for term in label.get("terms", []):
        for row in term_rows(term):
            for symbol in filter(None, row["symbols"].split(";")):
                # "tumble dry" in words needs no market to be read.
                for path, value in symbol_limits(symbol, "", "iso").items():
                    yield symbol, "physical", path, value
                    yield row["key"], "physical", path, value
            for _, path, value in cell_limits(row["limits"], "physical"):
                yield row["key"], "physical", path, value
    spoken = spoken_of(label)
    silent = SILENT | (NOT_NEEDED if label["state"] == "not_needed" else {})
    for group, limits in silent.items():
        if group not in spoken:
            yield from ((f"no {group}", "default", path, value) for path, value in limits.items())


def _once_out(stain: dict[str, str]) -> dict[str, str]:
    """What a stain forbids until it is out, beside its water: that caps the first bath alone."""
    kept = [part for part in stain["limits"].split(";") if "wash.max_c" not in part]
    return stain | {"limits": ";".join(kept)}


def too_warm_at_first(facts: dict[str, Any], decision: dict[str, Any]) -> list[str]:
    """Pre-spotting in water that is warmer than a stain of the piece stands."""
    caps = [
        value
        for stain in facts.get("stains", [])
        for _, path, value in cell_limits(STAINS[stain["stain"]]["limits"])
        if path == "wash.max_c"
    ]
    return [
        f"{step['says']}: past {min(caps)}"
        for step in decision["steps"]
        if caps and step["step"] == "pre_spot" and step["settings"].get("max_c", 0) > min(caps)
    ]


def rows_of(facts: dict[str, Any]) -> Iterator[dict[str, str]]:
    """Every row that some fact other than the label brings in, hazards that follow too."""
    first: list[dict[str, str]] = []
    for part in facts["components"] or [{}]:
        for share in part.get("fibres") or [{"fibre": "unknown"}]:
            first.append(FIBRES[share["fibre"]])
    for term in facts["label"].get("terms", []):
        first += [FIBRES[r["as_fibre"]] for r in term_rows(term) if r["as_fibre"]]
    for trim in facts.get("trims", []):
        row = TRIMS.get(trim) or COLOURS[trim]
        if not row.get("lifts"):
            first.append(row)
    first += [_once_out(STAINS[stain["stain"]]) for stain in facts.get("stains", [])]
    first += [DAMAGE[damage] for damage in facts.get("damage", [])]
    first.append(COLOURS[facts.get("colour", "unknown")])
    first.append(MAKING.get(facts.get("construction", "unknown"), {}))
    first.append(KINDS[facts.get("kind", "other")])
    first += [HAZARDS[hazard] for hazard in facts.get("hazards", [])]
    altered = "alter" in facts.get("services", []) or any(
        not WORK[work]["repair"] for work in facts.get("work", [])
    )
    kind, wearer = facts.get("kind", "other"), facts.get("wearer")
    if wearer in ("child", "under_3") and KINDS[kind]["sleepwear"] and altered:
        first.append(HAZARDS["child.sleepwear"])
    if wearer == "under_3" or kind == "baby_bodysuit":
        first.append(HAZARDS["allergy.residue"])
    named = {share["fibre"] for part in facts["components"] for share in part.get("fibres", [])}
    if facts["label"].get("market") == "us" and "wool" in named:
        first.append(COMPOSITIONS["us_wool_wide"])
    trims = set(facts.get("trims", []))
    if "old_or_degraded" in trims and named & {"silk", "silk_wild"}:
        first.append(COMBINATIONS["old_silk"])
    if "old_or_degraded" in trims and trims & HEAVY_WORK:
        first.append(COMBINATIONS["old_worked_cloth"])
    if trims & FAILED_IN_WATER and (facts.get("colour") == "mixed" or "red_on_white" in trims):
        first.append(COMBINATIONS["bleeds_on_itself"])
    while first:
        row = first.pop()
        yield row
        follow = row.get("hazards", "").split(";")
        first += [HAZARDS[hazard.strip()] for hazard in follow if hazard.strip()]


def material_ceilings(facts: dict[str, Any], spoken: set[str]) -> Iterator[Ceiling]:
    """What everything but the label sets; what yields to a symbol only where there is none."""
    for row in rows_of(facts):
        for strength, path, value in cell_limits(row.get("limits", "")):
            start = path.split(".")[0]
            if strength in ("default", "common") and GROUP_OF_LIMIT.get(start, start) in spoken:
                continue
            yield row["key"], strength, path, value


def ceilings(facts: dict[str, Any]) -> Iterator[Ceiling]:
    """Every limit that some fact sets."""
    yield from label_ceilings(facts["label"])
    yield from material_ceilings(facts, spoken_of(facts["label"]))


def strictest(ceilings: Iterable[Ceiling]) -> dict[str, Any]:
    """Each limit at its strictest."""
    limits = dict(OPEN)
    for _, _, path, value in ceilings:
        if strictness(path, value) > strictness(path, limits[path]):
            limits[path] = value
    return limits


def past_a_limit(facts: dict[str, Any], decision: dict[str, Any]) -> list[str]:
    """Which limits of the decision are looser than some fact allows."""
    limits = flat(decision)
    faults = [
        f"{who}: {path} {limits[path]!r} past {value!r}"
        for who, _, path, value in ceilings(facts)
        if strictness(path, limits[path]) < strictness(path, value)
    ]
    if limits["wash.allowed"] != (limits["wash.max_c"] > 0):
        faults.append("wash.allowed beside wash.max_c")
    return faults


def needlessly_strict(facts: dict[str, Any], decision: dict[str, Any]) -> list[str]:
    """Which limits of the decision are stricter than every fact and default together asks for."""
    limits = flat(decision)
    return [
        f"{path} {limits[path]!r} although {value!r} is allowed"
        for path, value in strictest(ceilings(facts)).items()
        if strictness(path, limits[path]) > strictness(path, value)
    ]


def wrongly_named(facts: dict[str, Any], decision: dict[str, Any]) -> list[str]:
    """Which rules are named for a limit that they do not set so strictly on their own."""
    limits = flat(decision) | {"wash.allowed": decision["limits"]["wash"]["max_c"]}
    setters: dict[str, set[str]] = {}
    for who, _, path, value in ceilings(facts):
        if strictness(path, value) == strictness(path, limits[path]):
            setters.setdefault(path, set()).add(who)
    faults = []
    for path, keys in decision["because"].items():
        able = setters.get(path.replace("wash.allowed", "wash.max_c"), set())
        for key in keys:
            table, _, bare = key.partition(".")
            silent = bare.removeprefix("not_stated.") if table == "label" else ""
            if bare in ("missing", "unreadable", "not_needed"):
                fits = any(who.startswith("no ") for who in able)
            else:
                fits = bool({key, bare, f"no {silent}"} & able)
            if not fits:
                faults.append(f"{path}: {key}")
    return faults
