"""What is wrong or still open on a draft, in the counter's words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import care_rules
from care_rules import JsonMapping
from counter.intake.choice_lists import (
    FIBRES,
    HAZARDS,
    KINDS,
    STAINS,
    TERMS,
    TRIMS,
    WORK,
)
from counter.intake.drafts import DraftPiece
from counter.intake.inspection import QUESTIONS, inspection_faults
from counter.intake.wording import corrections as wording
from counter.money.prices import PriceLine
from tickets.shop.weights import HEAVIEST_G
from tickets.wording import PART_NAMES, SERVICE_NAMES

PICKS = {
    "kind": KINDS,
    "components": FIBRES,
    "stains": STAINS,
    "trims": TRIMS,
    "work": WORK,
    "hazards": HAZARDS,
    "terms": TERMS,
}

LONGEST = {"description": 120, "set_mark": 2}
ROUNDING_PERCENT = 1
"""Figures on a label are rounded, so three thirds may print as 99."""


@dataclass(frozen=True)
class PieceFault:
    """``field`` is the form's group it belongs to. ``open`` means not answered yet, not wrong."""

    field: str
    says: str
    cure: str = ""
    open: bool = False


def fault_of(path: str, value: object, cure: str) -> PieceFault:
    """A fault of the facts in the counter's words: a word off a list gets the nearest names."""
    group = _group_of(path)
    chooser = PICKS.get(group)
    if chooser is None or not isinstance(value, str) or path.endswith("percent"):
        shown = value if isinstance(value, str | int | float) else ""
        return PieceFault(group, *wording.not_usable(shown, cure))
    return PieceFault(group, *wording.not_listed(value, chooser.nearest(value)))


def _group_of(path: str) -> str:
    """The editor's group for a path of the contract: ``label.terms[0]`` belongs to ``terms``."""
    parts = path.split("[")[0].split(".")
    return parts[1] if parts[0] == "label" and parts[-1] in ("terms", "symbols") else parts[0]


def faults_of_facts(
    piece: DraftPiece, unread: care_rules.FactsError | None
) -> Iterator[PieceFault]:
    """What is not told yet, what the care rules can't read, and shares that don't add up."""
    facts = piece.facts
    if not facts.get("kind"):
        yield PieceFault("kind", *wording.not_told("kind"), open=True)
    if not facts.get("services"):
        text = wording.no_service(SERVICE_NAMES.values())
        yield PieceFault("services", *text, open=True)
    if not (facts.get("label") or {}).get("state"):
        yield PieceFault("label", *wording.not_told("label"), open=True)
    if "alter" in facts.get("services", ()) and not facts.get("work"):
        yield PieceFault("work", *wording.not_told("work"), open=True)
    if unread is not None:
        for fault in unread.faults:
            yield fault_of(fault.field, fault.value, str(fault.cure))
    yield from _unequal_shares(facts)


def _unequal_shares(facts: JsonMapping) -> Iterator[PieceFault]:
    """Percents that are all stated must make up the whole part."""
    for part in facts.get("components") or ():
        shares = [fibre.get("percent") for fibre in part.get("fibres") or ()]
        if not shares or not all(isinstance(share, int | float) for share in shares):
            continue
        total = sum(shares)
        if abs(total - 100) > ROUNDING_PERCENT:
            name = PART_NAMES.get(part["part"], part["part"])
            yield PieceFault("components", *wording.unequal_shares(name, total))


def faults_of_rest(piece: DraftPiece, facts: JsonMapping) -> Iterator[PieceFault]:
    """The look over the piece, and what is written beside its facts."""
    for fault in inspection_faults(piece.inspection, facts):
        unanswered = fault.field in QUESTIONS and not piece.inspection.get(fault.field)
        says = wording.asked(fault.field) if unanswered else fault.says
        yield PieceFault(fault.field, says, fault.cure, open=unanswered)
    for name, most in LONGEST.items():
        text = str(getattr(piece, name))
        if len(text) > most:
            yield PieceFault(name, *wording.too_long(text, most))
    weight = piece.weight_g
    if not isinstance(weight, int) or not 0 <= weight <= HEAVIEST_G:
        yield PieceFault("weight_g", *wording.no_weight(weight, HEAVIEST_G))


def missing_price(line: PriceLine) -> PieceFault:
    return PieceFault("prices", *wording.no_price(line.text), open=True)
