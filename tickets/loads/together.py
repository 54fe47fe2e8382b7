"""May two pieces turn in one drum? The verdict, one sentence why, and the step that resolves it.

The limits, the process and the colours are judged by ``care_rules.loads``; here stand
the rules of the drum: staining, fluff, hardware, weight of cloth, and what keeps apart from other
customers' pieces. Every rule reads both pieces alike, so the answer is the same both ways.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from care_rules.loads import may_share_run, why_apart
from tickets.loads.items import DRY, SEND_OUT, WASH, LoadItem, allows, bulk, room_taken
from tickets.shop.machine_facts import MachineFacts, ProgrammeFacts

SAME_SHADE = 35
"""Staining grades up to this (3-4) run only with their own colour group."""


@dataclass(frozen=True)
class Verdict:
    """``says`` is one sentence; ``steps`` is what to do so that the company does no harm."""

    may: bool
    says: str
    steps: tuple[str, ...] = ()


def may_share(a: LoadItem, b: LoadItem) -> Verdict:
    """Whether the two may share a run, and why."""
    clash = _clash(a, b)
    if clash:
        return Verdict(False, str(_CLASH_SAYS[clash]))
    if a.stage == SEND_OUT:
        return Verdict(True, gettext("Both go out to a partner: one bag takes them."))
    if a.stage == DRY:
        return Verdict(True, gettext("Both may be tumbled at the gentler setting of the two."))
    may, says = may_share_run(a, b)
    if not may:
        return Verdict(False, says)
    return Verdict(True, says, _steps(a, b))


def shares(a: LoadItem, b: LoadItem) -> bool:
    """The bare answer of ``may_share``, without words: for planning, which asks of all pairs."""
    if _clash(a, b):
        return False
    return a.stage != WASH or not why_apart(a, b)


_CLASH_SAYS: dict[str, Any] = {
    "hygiene": _("A piece with a hygiene caution runs apart from all others."),
    "pesticide": _("A piece with pesticide on it runs apart from all others."),
    "flame_resistant": _("A flame-resistant piece runs only with its like."),
    "stage": _("They wait for different machines."),
    "alone": _("One of them must run alone."),
    "scent": _("A fragrance-free customer's piece would take scent from the other."),
    "fluff": _("One sheds fluff and the other shows it."),
    "weight": _("Heavy cloth would beat the fine piece."),
    "stains": _("One of them stains others: only its own colour group may join it."),
    "colour_unknown": _("The colour of one of them is not known, and damp cloth still stains."),
}


def _clash(a: LoadItem, b: LoadItem) -> str:
    """The first rule of the drum that keeps the two apart, as its key; empty when none."""
    if a.stage != b.stage:
        return "stage"
    if a.group != b.group:
        return min(filter(None, [*a.group.split("+"), *b.group.split("+")]))
    if a.alone or b.alone:
        return "alone"
    if a.fragrance_free != b.fragrance_free:
        return "scent"
    if a.stage == SEND_OUT:
        return ""
    if {a.lint, b.lint} == {"giver", "receiver"}:
        return "fluff"
    if (a.heavy and b.fine) or (b.heavy and a.fine):
        return "weight"
    if a.colour_group != b.colour_group:
        staining = [piece.bleeds for piece in (a, b) if piece.bleeds]
        if staining and min(staining) <= SAME_SHADE:
            return "stains"
        if a.stage == DRY and "unknown" in (a.colour_group, b.colour_group):
            return "colour_unknown"
    return ""


def _steps(a: LoadItem, b: LoadItem) -> tuple[str, ...]:
    """What makes a shared run harmless. A step names the piece it is done to."""
    steps = []
    for hard, fine in ((a, b), (b, a)):
        if hard.hardware and fine.fine:
            if fine.mesh_bag:
                steps.append(_named(_("Keep %(piece)s in its mesh bag."), fine))
            elif hard.inside_out:
                steps.append(
                    _named(
                        _("Close %(piece)s and turn it inside out, so that no metal rubs."), hard
                    )
                )
            else:
                steps.append(_named(_("Put %(piece)s into a mesh bag."), fine))
    if a.softener != b.softener:
        steps.append(gettext("Leave softener out of this load."))
    return tuple(dict.fromkeys(steps))


def _named(template: Any, piece: LoadItem) -> str:
    return str(template) % {"piece": piece.code}


def programme_for(pieces: Iterable[LoadItem], machine: MachineFacts) -> ProgrammeFacts | None:
    """The programme of a load is what none of its pieces forbids.

    The strongest programme of the machine that no piece forbids; None where there is none."""
    pieces = list(pieces)
    for programme in sorted(machine.programmes, key=lambda p: p.strength):
        if all(allows(piece, programme, machine.kind) for piece in pieces):
            return programme
    return None


def why_not_run(pieces: Sequence[LoadItem], machine: MachineFacts) -> str:
    """The first rule that this load on this machine breaks, as a sentence; empty when none."""
    for a, b in combinations(sorted(pieces, key=lambda p: p.code), 2):
        verdict = may_share(a, b)
        if not verdict.may:
            return gettext("%(one)s and %(other)s may not share: %(why)s") % {
                "one": a.code,
                "other": b.code,
                "why": verdict.says,
            }
    return why_not_fit(pieces, machine)


def why_not_fit(pieces: Sequence[LoadItem], machine: MachineFacts) -> str:
    """As ``why_not_run``, for pieces that are known to be good company."""
    programme = programme_for(pieces, machine)
    if programme is None:
        return gettext("%(machine)s has no programme that all pieces allow.") % {
            "machine": machine.key
        }
    if machine.most_pieces and len(pieces) > machine.most_pieces:
        return gettext("%(machine)s takes %(most)d at a time.") % {
            "machine": machine.key,
            "most": machine.most_pieces,
        }
    taken = sum(room_taken(piece, programme) for piece in pieces)
    if taken > machine.room and programme.by_weight:
        return gettext("The bag would weigh %(grams)d g; one person lifts %(room)d kg at most.") % {
            "grams": taken,
            "room": machine.room // 1000,
        }
    if taken > machine.room:
        return gettext("%(programme)s needs %(taken)d l of drum; %(machine)s has %(room)d l.") % {
            "programme": programme.words,
            "taken": -(-taken // 1000),
            "machine": machine.key,
            "room": machine.room // 1000,
        }
    if not programme.by_weight and sum(map(bulk, pieces)) > machine.filled_room:
        return gettext("Filled pieces would take more than their share of %(machine)s.") % {
            "machine": machine.key
        }
    return ""


@dataclass(frozen=True)
class Effect:
    """What adding a piece would do to a load. ``may`` is False where it must not be added."""

    may: bool
    says: str
    steps: tuple[str, ...] = ()


def effect_of_adding(load: Sequence[LoadItem], piece: LoadItem, machine: MachineFacts) -> Effect:
    """What the crew is told before the piece goes in: refused, as it is, or what it changes."""
    steps: list[str] = []
    for other in sorted(load, key=lambda p: p.code):
        verdict = may_share(other, piece)
        if not verdict.may:
            return Effect(
                False,
                gettext("Not with %(other)s: %(why)s") % {"other": other.code, "why": verdict.says},
            )
        steps += verdict.steps
    together = [*load, piece]
    if says := why_not_fit(together, machine):
        return Effect(False, says)
    after = programme_for(together, machine)
    before = programme_for(load, machine)
    assert after is not None
    notes = tuple(dict.fromkeys(steps))
    if after.by_weight:
        return Effect(True, gettext("The bag takes it."), notes)
    if before is None or not load:
        says = gettext("The load runs at %(words)s.") % {"words": after.words}
    elif after == before:
        says = gettext("The load stays at %(words)s.") % {"words": after.words}
    else:
        says = gettext("Adding this drops the load to %(words)s.") % {"words": after.words}
    return Effect(True, says, notes)
