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
    reason = why_apart(a, b)
    if reason:
        return False, _apart_words(reason, a, b)
    if a["process"] == "dry_clean":
        return True, _solvent(a["limits"]["dry_clean"], b["limits"]["dry_clean"])
    return True, _programme(a, b)


def why_apart(a: Mapping[str, Any], b: Mapping[str, Any]) -> str:
    """Which rule keeps the two apart, as a key without words; empty where they may share.

    For whoever asks of many pairs and shows none of the sentences.
    """
    if a["outcome"] != "accept" or b["outcome"] != "accept":
        return "outcome"
    if a["process"] not in _BATHS or b["process"] not in _BATHS:
        return "no_bath"
    if a["process"] != b["process"]:
        return "process"
    if a["where"] != "in_house" or b["where"] != "in_house":
        return "sent_out"
    if a["process"] == "hand_wash":
        return "hand_wash"
    if a["load"]["alone"] or b["load"]["alone"]:
        return "alone"
    groups = frozenset((a["load"]["colour_group"], b["load"]["colour_group"]))
    if "unknown" in groups:
        return "colour_unknown"
    if "mixed" in groups:
        return "colour_mixed"
    if len(groups) > 1 and groups not in _FRIENDS:
        return "colours"
    if a["process"] == "dry_clean" and not _solvents(
        a["limits"]["dry_clean"], b["limits"]["dry_clean"]
    ):
        return "solvent"
    return ""


def _apart_words(reason: str, a: Mapping[str, Any], b: Mapping[str, Any]) -> str:
    if reason == "outcome":
        return _("A piece that waits for an answer, or is declined, goes into no load.")
    if reason == "no_bath":
        return _("A piece that is not cleaned in a machine goes into no load.")
    if reason == "process":
        first, second = sorted((a["process"], b["process"]))
        return _(
            "One goes to {first}, the other to {second}.",
            first=process_words(first),
            second=process_words(second),
        )
    if reason == "sent_out":
        return _("A piece that is sent out goes into no load of the house.")
    if reason == "hand_wash":
        return _("Hand washing takes one piece at a time.")
    if reason == "alone":
        return _("One of them must be washed alone.")
    if reason == "colour_unknown":
        return _("The colour of one of them is not known.")
    if reason == "colour_mixed":
        return _("A piece of several colours runs without others.")
    if reason == "colours":
        first, second = sorted((a["load"]["colour_group"], b["load"]["colour_group"]))
        return _(
            "Colours of the groups {first} and {second} stay apart.",
            first=group_words(first),
            second=group_words(second),
        )
    return _("No solvent serves both.")


def _solvents(a: Mapping[str, Any], b: Mapping[str, Any]) -> list[str]:
    return [solvent for solvent in a["solvents"] if solvent in b["solvents"]]


def _solvent(a: Mapping[str, Any], b: Mapping[str, Any]) -> str:
    action = action_words(_gentler(a["action"], b["action"]))
    return _("Both may run in {solvent}, {action}.", solvent=_solvents(a, b)[-1], action=action)


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
