"""What is wrong or still open on a draft, in the counter's words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

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
from counter.intake.inspection import ASKED, QUESTIONS, inspection_faults
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
        return PieceFault(group, _("“%(value)s” can't be used.") % {"value": shown}, f"{cure}.")
    near = chooser.nearest(value)
    if near:
        cure = _("Did you mean: %(names)s?") % {"names": ", ".join(near)}
    else:
        cure = _("Choose one from the list.")
    return PieceFault(group, _("“%(value)s” is not on the list.") % {"value": value}, cure)


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
        yield PieceFault("kind", _("What is it?"), _("Choose the kind."), open=True)
    if not facts.get("services"):
        offered = ", ".join(str(name) for name in SERVICE_NAMES.values())
        yield PieceFault(
            "services",
            _("What is asked?"),
            _("Choose one or more of: %(offered)s.") % {"offered": offered},
            open=True,
        )
    if not (facts.get("label") or {}).get("state"):
        yield PieceFault("label", _("What does the label say?"), _("Look for it."), open=True)
    if "alter" in facts.get("services", ()) and not facts.get("work"):
        yield PieceFault("work", _("Which alteration?"), _("Choose the operation."), open=True)
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
            yield PieceFault(
                "components",
                _("%(part)s: the fibres add up to %(total)g %%.")
                % {"part": PART_NAMES.get(part["part"], part["part"]), "total": total},
                _("Correct the figures, or add the rest as “unknown”."),
            )


def faults_of_rest(piece: DraftPiece, facts: JsonMapping) -> Iterator[PieceFault]:
    """The look over the piece, and what is written beside its facts."""
    for fault in inspection_faults(piece.inspection, facts):
        unanswered = fault.field in QUESTIONS and not piece.inspection.get(fault.field)
        says = str(ASKED[fault.field]) if unanswered else fault.says
        yield PieceFault(fault.field, says, fault.cure, open=unanswered)
    for name, most in LONGEST.items():
        text = str(getattr(piece, name))
        if len(text) > most:
            yield PieceFault(
                name,
                _("%(text)s… has %(count)d characters.") % {"text": text[:20], "count": len(text)},
                _("At most %(most)d fit.") % {"most": most},
            )
    weight = piece.weight_g
    if not isinstance(weight, int) or not 0 <= weight <= HEAVIEST_G:
        yield PieceFault(
            "weight_g",
            _("%(value)s is not a weight in grams.") % {"value": weight},
            _("Write whole grams up to %(most)d, or leave it empty.") % {"most": HEAVIEST_G},
        )


def missing_price(line: PriceLine) -> PieceFault:
    return PieceFault(
        "prices",
        _("No price for: %(what)s.") % {"what": line.text},
        _("Type the price here, or ask the owner to add it on the Shop page."),
        open=True,
    )
