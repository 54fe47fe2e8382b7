"""May two pieces turn in one drum? The verdict, one sentence why, and the step that resolves it.

The limits, the process and the colours are judged by ``care_rules.loads``; here stand
the rules of the drum: staining, fluff, hardware, weight of cloth, and what keeps apart from other
customers' pieces. Every rule reads both pieces alike, so the answer is the same both ways.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from care_rules.loads import may_share_run, why_apart
from tickets.loads.items import DRY, SEND_OUT, WASH, LoadItem, allows, bulk, room_taken
from tickets.loads.wording import company
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
        return Verdict(False, company.clash_words(clash))
    if a.stage in (SEND_OUT, DRY):
        return Verdict(True, company.shared_words(a.stage))
    may, says = may_share_run(a, b)
    if not may:
        return Verdict(False, says)
    return Verdict(True, says, _steps(a, b))


def shares(a: LoadItem, b: LoadItem) -> bool:
    """The bare answer of ``may_share``, without words: for planning, which asks of all pairs."""
    if _clash(a, b):
        return False
    return a.stage != WASH or not why_apart(a, b)


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
    steps = [
        company.fine_step(hard, fine)
        for hard, fine in ((a, b), (b, a))
        if hard.hardware and fine.fine
    ]
    if a.softener != b.softener:
        steps.append(company.no_softener())
    return tuple(dict.fromkeys(steps))


def steps_together(pieces: Sequence[LoadItem]) -> list[str]:
    """What to do so that the pieces do each other no harm, each step once."""
    steps = [step for a, b in combinations(pieces, 2) for step in may_share(a, b).steps]
    return company.load_steps(pieces, steps)


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
            return company.parted(a.code, b.code, verdict.says)
    return why_not_fit(pieces, machine)


def why_not_fit(pieces: Sequence[LoadItem], machine: MachineFacts) -> str:
    """As ``why_not_run``, for pieces that are known to be good company."""
    programme = programme_for(pieces, machine)
    if programme is None:
        return company.no_programme(machine.key)
    if machine.most_pieces and len(pieces) > machine.most_pieces:
        return company.too_many(machine.key, machine.most_pieces)
    taken = sum(room_taken(piece, programme) for piece in pieces)
    if taken > machine.room and programme.by_weight:
        return company.too_heavy(taken, machine.room)
    if taken > machine.room:
        return company.too_full(programme.words, taken, machine.key, machine.room)
    if not programme.by_weight and sum(map(bulk, pieces)) > machine.filled_room:
        return company.too_filled(machine.key)
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
            return Effect(False, company.not_with(other.code, verdict.says))
        steps += verdict.steps
    together = [*load, piece]
    if says := why_not_fit(together, machine):
        return Effect(False, says)
    after = programme_for(together, machine)
    before = programme_for(load, machine)
    assert after is not None
    notes = tuple(dict.fromkeys(steps))
    if after.by_weight:
        return Effect(True, company.bag_takes_it(), notes)
    return Effect(True, company.runs_at(before if load else None, after), notes)
