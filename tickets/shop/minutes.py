"""Minutes of work and of waiting for each step of a route, from ``minutes.csv`` and the tables."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from care_rules import Settings, TreatmentLimits, catalogue

_FILE = Path(__file__).with_name("minutes.csv")


@cache
def _table() -> dict[str, float]:
    with _FILE.open(encoding="utf-8", newline="") as file:
        return {row["key"]: float(row["minutes"]) for row in csv.DictReader(file)}


@cache
def _work_minutes() -> dict[str, float]:
    return {entry.key: entry.minutes for entry in catalogue.work()}


def crew_minutes(step: str, work: Sequence[str] = (), kind: str = "") -> float:
    """Minutes of one person's time for a step.

    A mend takes what its operations take together, a press what the kind of piece takes.
    """
    table = _table()
    if step == "press":
        return table.get(f"press.{kind}", table["press"])
    if step == "mend" and work:
        known = _work_minutes()
        return sum(known.get(key, table["mend"]) for key in work)
    return table[step]


def waiting_minutes(step: str, limits: TreatmentLimits) -> float:
    """Clock minutes that pass after a step without crew: machine, rail or partner time."""
    return _waits(step, limits.tumble, limits.air_dry.hang)


def waits_by_settings(step: str, settings: Settings) -> float:
    """``waiting_minutes`` of a stored step: how it dries stands in its own settings."""
    hang = settings.get("method", "") not in ("flat", "tumble")
    return _waits(step, settings.get("tumble", "none"), hang)


def _waits(step: str, tumble: str, hang: bool) -> float:
    table = _table()
    if step == "wash":
        return table["wait.wash"]
    if step == "send_out":
        return table["wait.send_out"]
    if step == "dry":
        if tumble != "none":
            return table["wait.tumble"]
        return table["wait.hang"] if hang else table["wait.flat"]
    return 0.0


def partner_service(step: str, settings: Settings) -> str:
    """What a step sends a piece out for, as partners state it; empty for any other step."""
    if step != "send_out":
        return ""
    to = settings.get("to", "")
    return "leather" if to == "specialist" else to


def round_minutes() -> float:
    """Open minutes a piece lies at each station, beside the queue, until the crew's next round."""
    return _table()["wait.round"]
