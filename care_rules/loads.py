"""May two pieces share a machine run? From their decisions alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from care_rules.limits import ACTIONS, BLEACHES, SPINS
from care_rules.speech import gettext as _
from care_rules.wording import action_words, group_words, process_words, spin_words

_BATHS = ("machine_wash", "hand_wash", "wet_clean", "dry_clean")
#: Groups that may run together although they differ. Anything else runs with its own kind.
_FRIENDS = (frozenset({"white", "light"}),)


def may_share_load(a: Mapping[str, Any], b: Mapping[str, Any]) -> tuple[bool, str]:
    """Whether a programme exists that breaks neither piece's limits, and one sentence why.

    Both arguments are decisions as JSON. The answer is the same whichever comes first.
    """
    if a["outcome"] != "accept" or b["outcome"] != "accept":
        return False, _("A piece that waits for an answer, or is declined, goes into no load.")
    if a["process"] not in _BATHS or b["process"] not in _BATHS:
        return False, _("A piece that is not cleaned in a machine goes into no load.")
    if a["process"] != b["process"]:
        first, second = sorted((a["process"], b["process"]))
        return False, _(
            "One goes to {first}, the other to {second}.",
            first=process_words(first),
            second=process_words(second),
        )
    if a["where"] != "in_house" or b["where"] != "in_house":
        return False, _("A piece that is sent out goes into no load of the house.")
    if a["process"] == "hand_wash":
        return False, _("Hand washing takes one piece at a time.")
    if a["load"]["alone"] or b["load"]["alone"]:
        return False, _("One of them must be washed alone.")
    clash = _colour_clash(a["load"]["colour_group"], b["load"]["colour_group"])
    if clash:
        return False, clash
    if a["process"] == "dry_clean":
        return _share_solvent(a["limits"]["dry_clean"], b["limits"]["dry_clean"])
    return True, _programme(a, b)


def _colour_clash(first: str, second: str) -> str:
    if "unknown" in (first, second):
        return _("The colour of one of them is not known.")
    if "mixed" in (first, second):
        return _("A piece of several colours runs without others.")
    if first != second and frozenset((first, second)) not in _FRIENDS:
        first, second = sorted((first, second))
        return _(
            "Colours of the groups {first} and {second} stay apart.",
            first=group_words(first),
            second=group_words(second),
        )
    return ""


def _share_solvent(a: Mapping[str, Any], b: Mapping[str, Any]) -> tuple[bool, str]:
    common = [solvent for solvent in a["solvents"] if solvent in b["solvents"]]
    if not common:
        return False, _("No solvent serves both.")
    action = action_words(_gentler(a["action"], b["action"]))
    return True, _("Both may run in {solvent}, {action}.", solvent=common[-1], action=action)


def _programme(a: Mapping[str, Any], b: Mapping[str, Any]) -> str:
    """The gentlest of both: the lowest temperature, action and spin."""
    if a["process"] == "wet_clean":
        first, second = a["limits"]["wet_clean"], b["limits"]["wet_clean"]
        action = action_words(_gentler(first["action"], second["action"]))
        return _("Both may be wet cleaned, {action}.", action=action)
    first, second = a["limits"]["wash"], b["limits"]["wash"]
    spin = SPINS[max(SPINS.index(first["spin"]), SPINS.index(second["spin"]))]
    bleach = max(BLEACHES.index(a["limits"]["bleach"]), BLEACHES.index(b["limits"]["bleach"]))
    return _(
        "Both may run at {c} °C, {action}, {spin}, {bleach}.",
        c=min(first["max_c"], second["max_c"]),
        action=action_words(_gentler(first["action"], second["action"])),
        spin=spin_words(spin),
        bleach=_("no bleach") if BLEACHES[bleach] == "none" else _("oxygen bleach at most"),
    )


def _gentler(first: str, second: str) -> str:
    return ACTIONS[max(ACTIONS.index(first), ACTIONS.index(second))]
