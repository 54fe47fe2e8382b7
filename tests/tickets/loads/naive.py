"""A second, plain reading of the rules and of the score, written apart from the planner's.

It shares no code with ``tickets.loads`` but the facts' fields and the weights' published values.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise

from tickets.loads.items import LoadItem
from tickets.loads.runs import Plan, Run

RATIO = {  # litres of drum for a kilogram: rows load.ratio.* of the figures table
    "cotton_white": 10,
    "polyester": 14.3,
    "polycotton": 12,
    "coloured_cotton": 11,
    "denim": 12,
    "delicate": 20,
    "wool_silk": 25,
    "terry": 11,
    "duvet_filled": 20,
}


def naive_score(plan: Plan) -> int:
    """10,000 for each late minute of a piece, 50,000 for each run, 1 for each step below."""
    total = 0
    for run in plan.runs:
        total += 50_000
        for piece in run.pieces:
            if run.finish > piece.due:
                total += 10_000 * (run.finish - piece.due)
            if run.programme.process in ("machine_wash", "hand_wash"):
                missing = piece.max_c - run.programme.heat
                total += 2 * (run.programme.action - piece.action)
                while missing > 0:
                    total += 1
                    missing -= 10
            elif run.programme.process == "tumble":
                total += 2 * (run.programme.heat - piece.tumble)
            elif run.programme.process in ("dry_clean", "wet_clean"):
                total += 2 * (run.programme.action - piece.action)
    return total


def illegal_loads(plan: Plan, pieces: Sequence[LoadItem]) -> int:
    """Runs that break a rule; a plan that loses, doubles or invents a piece counts as one more."""
    wrong = sum(bool(rules_broken(run)) for run in plan.runs)
    placed = sorted([p.code for run in plan.runs for p in run.pieces])
    if sorted([*placed, *(p.code for p in plan.left_over)]) != sorted(p.code for p in pieces):
        wrong += 1
    by_machine: dict[str, list[Run]] = {}
    for run in plan.runs:
        by_machine.setdefault(run.machine.key, []).append(run)
    for runs in by_machine.values():
        runs.sort(key=lambda run: run.start)
        if runs[0].start < runs[0].machine.free_from:
            wrong += 1
        for first, second in pairwise(runs):
            if second.start < first.start + first.programme.minutes + first.machine.turnaround:
                wrong += 1
    return wrong


def rules_broken(run: Run) -> list[str]:
    """Every rule a washer's, sink's or dryer's run breaks, in a word each."""
    broken = []
    programme = run.programme
    for piece in run.pieces:
        if programme.process == "tumble":
            if piece.tumble > programme.heat:
                broken.append("dryer too hot")
            continue
        if programme.process != piece.process:
            broken.append("process")
        if programme.heat > piece.max_c:
            broken.append("too hot")
        if programme.action < piece.action:
            broken.append("too harsh")
        if programme.spin < piece.spin:
            broken.append("spun too hard")
        if piece.hand_only and programme.process != "hand_wash":
            broken.append("hand only")
    for a, b in combinations(run.pieces, 2):
        if a.alone or b.alone:
            broken.append("alone")
        if a.group != b.group:
            broken.append("group")
        if a.fragrance_free is not b.fragrance_free:
            broken.append("scent")
        if sorted((a.lint, b.lint)) == ["giver", "receiver"]:
            broken.append("lint")
        if (a.heavy and b.fine) or (a.fine and b.heavy):
            broken.append("heavy on fine")
        colours = {a.colour_group, b.colour_group}
        if programme.process != "tumble":
            if colours & {"mixed", "unknown"}:
                broken.append("colour not known")
            elif len(colours) == 2 and colours != {"white", "light"}:
                broken.append("colours")
        if len(colours) == 2 and any(0 < p.bleeds <= 35 for p in (a, b)):
            broken.append("bleeds")
    litres = 0.0
    filled = 0.0
    for piece in run.pieces:
        ratio = max(programme.litres_per_kg, RATIO[piece.cloth])
        if programme.process == "tumble":
            bulky = piece.cloth in ("terry", "duvet_filled")
            ratio = max(programme.litres_per_kg, 25 if bulky else 20)
        litres += piece.grams / 1000 * ratio
        if piece.filled:
            filled += piece.grams / 1000 * 20
    if litres > run.machine.litres + 1e-6:
        broken.append("overfull")
    if filled > 0.6 * run.machine.litres + 1e-6:
        broken.append("too many filled")
    if run.machine.most_pieces and len(run.pieces) > run.machine.most_pieces:
        broken.append("too many pieces")
    return broken
