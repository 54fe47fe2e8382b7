"""The look over each piece in front of the customer: four questions, each answered, none assumed.

Source of the questions: trade press on briefing counter staff (Laundry and Cleaning News).
"""

from __future__ import annotations

from dataclasses import dataclass

from django.db import models
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from care_rules import JsonMapping

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

ASKED = {
    "pockets": gettext_lazy("Pockets turned out?"),
    "stains": gettext_lazy("Stains?"),
    "damage": gettext_lazy("Damage?"),
    "fastenings": gettext_lazy("Zip and buttons tried?"),
}


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
    for question, answers in QUESTIONS.items():
        given = inspection.get(question, "")
        if given not in answers.values:
            faults.append(_unanswered(question, str(given)))
    faults += _contradictions(inspection, facts)
    if inspection.get("pockets") == Pockets.FOUND and not _words(inspection, "found"):
        faults.append(
            InspectionFault(
                "found",
                _("Something was found in a pocket, but not what."),
                _("Write what it was and where it went, for example: pen, given back."),
            )
        )
    if inspection.get("fastenings") == Fastenings.FAULTY and not _words(inspection, "fault"):
        faults.append(
            InspectionFault(
                "fault",
                _("A fastening is faulty, but not which."),
                _("Write which one, for example: second button missing."),
            )
        )
    return faults


def _unanswered(question: str, given: str) -> InspectionFault:
    asked = ASKED[question]
    if given:
        says = _("%(question)s The answer %(given)s is not one of the choices.") % {
            "question": asked,
            "given": given,
        }
    else:
        says = _("%(question)s This is not answered.") % {"question": asked}
    offered = ", ".join(str(label) for label in QUESTIONS[question].labels)
    cure = _("Look at the piece, then choose one of: %(offered)s.") % {"offered": offered}
    return InspectionFault(question, says, cure)


def _contradictions(inspection: JsonMapping, facts: JsonMapping) -> list[InspectionFault]:
    faults = []
    stains = [str(item.get("stain", "")) for item in facts.get("stains", ())]
    damage = list(facts.get("damage", ()))
    answer = inspection.get("stains")
    if answer == Seen.NONE and stains:
        faults.append(
            InspectionFault(
                "stains",
                _("The answer is “none seen”, but listed are: %(what)s.")
                % {"what": ", ".join(stains)},
                _("Take the stains off the list, or answer “listed”."),
            )
        )
    if answer == Seen.LISTED and not stains:
        faults.append(
            InspectionFault(
                "stains",
                _("The answer is “listed”, but no stain is listed."),
                _("Add each stain (“unknown” is one), or answer “none seen”."),
            )
        )
    answer = inspection.get("damage")
    if answer == Seen.NONE and damage:
        faults.append(
            InspectionFault(
                "damage",
                _("The answer is “none seen”, but listed is: %(what)s.")
                % {"what": ", ".join(item.replace("_", " ") for item in damage)},
                _("Take the damage off the list, or answer “listed”."),
            )
        )
    if answer == Seen.LISTED and not damage:
        faults.append(
            InspectionFault(
                "damage",
                _("The answer is “listed”, but no damage is listed."),
                _("Add the damage, or answer “none seen”."),
            )
        )
    if inspection.get("fastenings") == Fastenings.NONE and "loose_button" in damage:
        faults.append(
            InspectionFault(
                "fastenings",
                _("The answer is “has none”, but a loose button is listed."),
                _("Answer “something is faulty”, or take the loose button off the list."),
            )
        )
    return faults


def _words(inspection: JsonMapping, field: str) -> str:
    return str(inspection.get(field, "")).strip()
