"""May two pieces share a machine run? From their decisions alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from care_rules.limits import BLEACHES, SPINS

_BATHS = ("machine_wash", "hand_wash", "wet_clean", "dry_clean")
#: Groups that may run together although they differ. Anything else runs with its own kind.
_FRIENDS = (frozenset({"white", "light"}),)


def may_share_load(a: Mapping[str, Any], b: Mapping[str, Any]) -> tuple[bool, str]:
    """Whether a programme exists that breaks neither piece's limits, and one sentence why.

    Both arguments are decisions as JSON. The answer is the same whichever comes first.
    """
    if a["outcome"] != "accept" or b["outcome"] != "accept":
        return False, "A piece that waits for an answer, or is declined, goes into no load."
    if a["process"] not in _BATHS or b["process"] not in _BATHS:
        return False, "A piece that is not cleaned in a machine goes into no load."
    if a["process"] != b["process"]:
        first, second = sorted((a["process"], b["process"]))
        return False, f"One goes to {_words(first)}, the other to {_words(second)}."
    if a["where"] != "in_house" or b["where"] != "in_house":
        return False, "A piece that is sent out goes into no load of the house."
    if a["process"] == "hand_wash":
        return False, "Hand washing takes one piece at a time."
    if a["load"]["alone"] or b["load"]["alone"]:
        return False, "One of them must be washed alone."
    clash = _colour_clash(a["load"]["colour_group"], b["load"]["colour_group"])
    if clash:
        return False, clash
    if a["process"] == "dry_clean":
        return _share_solvent(a["limits"]["dry_clean"], b["limits"]["dry_clean"])
    return True, _programme(a, b)


def _colour_clash(first: str, second: str) -> str:
    if "unknown" in (first, second):
        return "The colour of one of them is not known."
    if "mixed" in (first, second):
        return "A piece of several colours runs without others."
    if first != second and frozenset((first, second)) not in _FRIENDS:
        return f"Colours of the groups {' and '.join(sorted((first, second)))} stay apart."
    return ""


def _share_solvent(a: Mapping[str, Any], b: Mapping[str, Any]) -> tuple[bool, str]:
    common = [solvent for solvent in a["solvents"] if solvent in b["solvents"]]
    if not common:
        return False, "No solvent serves both."
    return True, f"Both may run in {common[-1]}, {_gentler(a['action'], b['action'])} action."


def _programme(a: Mapping[str, Any], b: Mapping[str, Any]) -> str:
    """The gentlest of both: the lowest temperature, action and spin."""
    if a["process"] == "wet_clean":
        first, second = a["limits"]["wet_clean"], b["limits"]["wet_clean"]
        return f"Both may be wet cleaned, {_gentler(first['action'], second['action'])} action."
    first, second = a["limits"]["wash"], b["limits"]["wash"]
    water = min(first["max_c"], second["max_c"])
    spin = SPINS[max(SPINS.index(first["spin"]), SPINS.index(second["spin"]))]
    bleach = max(BLEACHES.index(a["limits"]["bleach"]), BLEACHES.index(b["limits"]["bleach"]))
    words = "no bleach" if BLEACHES[bleach] == "none" else "oxygen bleach at most"
    action = _gentler(first["action"], second["action"])
    spun = "no spin" if spin == "none" else f"{spin} spin"
    return f"Both may run at {water} °C, {action} action, {spun}, {words}."


def _gentler(first: str, second: str) -> str:
    order = ("normal", "mild", "very_mild")
    return order[max(order.index(first), order.index(second))].replace("_", " ")


def _words(process: str) -> str:
    return process.replace("_", " ")
