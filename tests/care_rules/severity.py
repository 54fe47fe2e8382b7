"""How strict a limit is, written apart from the engine: for comparing decisions in tests."""

from __future__ import annotations

from typing import Any

from care_rules.limits import AXES, strictest, value_at

ORDER: dict[str, list[Any]] = {
    "wash.action": ["normal", "mild", "very_mild"],
    "wash.spin": ["normal", "reduced", "none"],
    "bleach": ["any", "oxygen", "none"],
    "tumble": ["normal", "low", "no_heat", "none"],
    "dry_clean.action": ["normal", "mild", "very_mild"],
    "wet_clean.action": ["normal", "mild", "very_mild"],
    "outcome": ["accept", "ask", "decline"],
    "level": ["info", "caution", "hold", "refuse"],
}
TRUE_IS_OPEN = {
    "wash.allowed", "air_dry.hang", "iron.steam", "wet_clean.allowed", "load.softener",
}  # fmt: skip


def flat(decision: dict[str, Any]) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name, value in decision["limits"].items():
        if isinstance(value, dict):
            values |= {f"{name}.{key}": inner for key, inner in value.items()}
        else:
            values[name] = value
    load = {key: value for key, value in decision["load"].items() if key != "colour_group"}
    return values | {f"load.{key}": value for key, value in load.items()}


def strictness(path: str, value: Any) -> float:
    """A number that grows as the limit grows stricter."""
    if path.endswith("max_c"):
        return -value
    if path.endswith("solvents"):
        return -len(value)
    if isinstance(value, bool):
        return float(value != (path in TRUE_IS_OPEN))
    return ORDER[path].index(value)


def loosened(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """What grew looser from one decision to the next: limits, outcome and cautions."""
    old, new = flat(before), flat(after)
    looser = [path for path in old if strictness(path, new[path]) < strictness(path, old[path])]
    if strictness("outcome", after["outcome"]) < strictness("outcome", before["outcome"]):
        looser.append("outcome")
    levels = {c["key"]: c["level"] for c in after["cautions"]}
    for caution in before["cautions"]:
        level = levels.get(caution["key"])
        if level is None or strictness("level", level) < strictness("level", caution["level"]):
            looser.append(f"caution {caution['key']}")
    return looser


def severity_of(limits: dict[str, Any], load: dict[str, Any]) -> list[int]:
    """Back from the ``limits`` and ``load`` objects of a decision to the engine's severities."""
    values = flat({"limits": limits, "load": load})
    values["dry_clean.solvents"] = "".join(values["dry_clean.solvents"]) or "none"
    grades = []
    for path in AXES:
        value = values[path]
        word = str(value).lower() if isinstance(value, bool) else str(value)
        written = [value_at(path, severity) for severity in range(strictest(path) + 1)]
        grades.append(written.index(word))
    return grades
