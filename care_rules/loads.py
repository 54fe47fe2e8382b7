"""May two pieces share a machine run? From what their decisions say of the run alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from care_rules.decision import Decision
from care_rules.limits import ACTIONS, BLEACHES, SPINS
from care_rules.speech import gettext as _
from care_rules.wording import action_words, group_words, process_words, spin_words

_BATHS = ("machine_wash", "hand_wash", "wet_clean", "dry_clean")
#: Groups that may run together although they differ. Anything else runs with its own kind.
_FRIENDS = (frozenset({"white", "light"}),)


class RunPiece(Protocol):
    """An accepted piece as a shared run sees it.

    ``process`` and ``where`` are the words of its decision, ``action`` and ``spin`` places in
    ACTIONS and SPINS for that process, ``solvents`` the letters that it stands.
    """

    @property
    def process(self) -> str: ...
    @property
    def where(self) -> str: ...
    @property
    def alone(self) -> bool: ...
    @property
    def colour_group(self) -> str: ...
    @property
    def max_c(self) -> int: ...
    @property
    def action(self) -> int: ...
    @property
    def spin(self) -> int: ...
    @property
    def bleach(self) -> str: ...
    @property
    def solvents(self) -> str: ...


@dataclass(frozen=True, slots=True)
class _Run:
    process: str
    where: str
    alone: bool
    colour_group: str
    max_c: int
    action: int
    spin: int
    bleach: str
    solvents: str


def action_of(decision: Decision) -> str:
    """The action that the piece stands in the process that it goes through."""
    limits = decision.limits
    if decision.process == "dry_clean":
        return limits.dry_clean.action
    return limits.wet_clean.action if decision.process == "wet_clean" else limits.wash.action


def run_of(decision: Decision) -> RunPiece:
    """What a shared run sees of the piece."""
    limits = decision.limits
    return _Run(
        process=decision.process,
        where=decision.where,
        alone=decision.load.alone,
        colour_group=decision.load.colour_group,
        max_c=limits.wash.max_c,
        action=ACTIONS.index(action_of(decision)),
        spin=SPINS.index(limits.wash.spin),
        bleach=limits.bleach,
        solvents="".join(limits.dry_clean.solvents),
    )


def may_share_load(a: Decision, b: Decision) -> tuple[bool, str]:
    """Whether a programme exists that breaks neither piece's limits, and one sentence why.

    The answer is the same whichever comes first.
    """
    if a.outcome != "accept" or b.outcome != "accept":
        return False, _("A piece that waits for an answer, or is declined, goes into no load.")
    return may_share_run(run_of(a), run_of(b))


def may_share_run(a: RunPiece, b: RunPiece) -> tuple[bool, str]:
    """As ``may_share_load``, of two accepted pieces."""
    reason = why_apart(a, b)
    if reason:
        return False, _apart_words(reason, a, b)
    return True, _programme(a, b)


def why_apart(a: RunPiece, b: RunPiece) -> str:
    """Which rule keeps the two apart, as a key without words; empty where they may share.

    For whoever asks of many pairs and shows none of the sentences.
    """
    if a.process not in _BATHS or b.process not in _BATHS:
        return "no_bath"
    if a.process != b.process:
        return "process"
    if a.where != "in_house" or b.where != "in_house":
        return "sent_out"
    if a.process == "hand_wash":
        return "hand_wash"
    if a.alone or b.alone:
        return "alone"
    if "unknown" in (a.colour_group, b.colour_group):
        return "colour_unknown"
    if "mixed" in (a.colour_group, b.colour_group):
        return "colour_mixed"
    if a.colour_group != b.colour_group and {a.colour_group, b.colour_group} not in _FRIENDS:
        return "colours"
    if a.process == "dry_clean" and not _solvents(a, b):
        return "solvent"
    return ""


def _apart_words(reason: str, a: RunPiece, b: RunPiece) -> str:
    if reason == "no_bath":
        return _("A piece that is not cleaned in a machine goes into no load.")
    if reason == "process":
        first, second = sorted((a.process, b.process))
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
        first, second = sorted((a.colour_group, b.colour_group))
        return _(
            "Colours of the groups {first} and {second} stay apart.",
            first=group_words(first),
            second=group_words(second),
        )
    return _("No solvent serves both.")


def _solvents(a: RunPiece, b: RunPiece) -> list[str]:
    return [solvent for solvent in a.solvents if solvent in b.solvents]


def _programme(a: RunPiece, b: RunPiece) -> str:
    """The gentlest of both: the lowest temperature, action and spin."""
    action = action_words(ACTIONS[max(a.action, b.action)])
    if a.process == "dry_clean":
        solvent = _solvents(a, b)[-1]
        return _("Both may run in {solvent}, {action}.", solvent=solvent, action=action)
    if a.process == "wet_clean":
        return _("Both may be wet cleaned, {action}.", action=action)
    bleaches = {BLEACHES.index(piece.bleach) for piece in (a, b)}
    bleach = BLEACHES[max(bleaches)]
    return _(
        "Both may run at {c} °C, {action}, {spin}, {bleach}.",
        c=min(a.max_c, b.max_c),
        action=action,
        spin=spin_words(SPINS[max(a.spin, b.spin)]),
        bleach=_("no bleach") if bleach == "none" else _("oxygen bleach at most"),
    )
