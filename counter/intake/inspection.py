"""The look over each piece in front of the customer: four questions, each answered, none assumed.

A kind is asked only what it can have: nobody looks for the pockets of a napkin.

Source of the questions: trade press on briefing counter staff (Laundry and Cleaning News).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.db import models
from django.utils.translation import gettext_lazy

from care_rules import JsonMapping
from counter.intake.choice_lists import KINDS
from counter.intake.wording import corrections as wording

LONGEST_NOTE = 200


class Pockets(models.TextChoices):
    EMPTY = "empty", gettext_lazy("Empty")
    FOUND = "found", gettext_lazy("Found something")
    NONE = "none", gettext_lazy("Has no pockets")


class Seen(models.TextChoices):
    NONE = "none", gettext_lazy("None seen")
    LISTED = "listed", gettext_lazy("Listed")


class Fastenings(models.TextChoices):
    WORK = "work", gettext_lazy("Tried, they work")
    FAULTY = "faulty", gettext_lazy("Something is faulty")
    NONE = "none", gettext_lazy("Has none")


QUESTIONS: dict[str, type[models.TextChoices]] = {
    "pockets": Pockets,
    "stains": Seen,
    "damage": Seen,
    "fastenings": Fastenings,
}
"""Field of ``Piece.inspection`` -> its answers. ``found`` and ``fault`` hold the words."""


ALWAYS_ASKED = ("stains", "damage")


def questions_left_out(kind: str) -> tuple[str, ...]:
    """What is not asked of a kind; of one that nobody has named yet everything is."""
    entry = KINDS.by_key.get(kind)
    if entry is None:
        return ()
    return tuple(name for name in QUESTIONS if name not in (*ALWAYS_ASKED, *entry.has))


@dataclass(frozen=True)
class InspectionFault:
    """``field`` is a question or ``found`` / ``fault``."""

    field: str
    says: str
    cure: str

    def __str__(self) -> str:
        return f"{self.says} {self.cure}"


def inspection_faults(inspection: JsonMapping, facts: JsonMapping) -> list[InspectionFault]:
    """Questions not answered, and answers that the rest of the piece contradicts."""
    faults = []
    left_out = questions_left_out(str(facts.get("kind", "")))
    for question, answers in QUESTIONS.items():
        given = inspection.get(question, "")
        if given not in answers.values and (given or question not in left_out):
            text = wording.unanswered(question, str(given), answers.labels)
            faults.append(InspectionFault(question, *text))
    faults += _contradictions(inspection, facts)
    if inspection.get("pockets") == Pockets.FOUND and not _words(inspection, "found"):
        faults.append(InspectionFault("found", *wording.look_fault("found_unnamed")))
    if inspection.get("fastenings") == Fastenings.FAULTY and not _words(inspection, "fault"):
        faults.append(InspectionFault("fault", *wording.look_fault("fault_unnamed")))
    return faults


def _contradictions(inspection: JsonMapping, facts: JsonMapping) -> Iterator[InspectionFault]:
    stains = [str(item.get("stain", "")) for item in facts.get("stains", ())]
    damage = list(facts.get("damage", ()))
    answer = inspection.get("stains")
    if answer == Seen.NONE and stains:
        yield InspectionFault("stains", *wording.look_fault("stains_listed", stains))
    if answer == Seen.LISTED and not stains:
        yield InspectionFault("stains", *wording.look_fault("no_stain_listed"))
    answer = inspection.get("damage")
    if answer == Seen.NONE and damage:
        names = [item.replace("_", " ") for item in damage]
        yield InspectionFault("damage", *wording.look_fault("damage_listed", names))
    if answer == Seen.LISTED and not damage:
        yield InspectionFault("damage", *wording.look_fault("no_damage_listed"))
    if inspection.get("fastenings") == Fastenings.NONE and "loose_button" in damage:
        yield InspectionFault("fastenings", *wording.look_fault("button_listed"))


def _words(inspection: JsonMapping, field: str) -> str:
    return str(inspection.get(field, "")).strip()
