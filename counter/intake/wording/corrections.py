"""What is wrong or open on a draft piece: the value, and what to do. All come as says and cure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

Fault = tuple[str, str]

ASKED = {
    "pockets": gettext_lazy("Pockets"),
    "stains": gettext_lazy("Stains"),
    "damage": gettext_lazy("Damage"),
    "fastenings": gettext_lazy("Zip and buttons"),
}
"""What the look over a piece asks."""

_OPEN = {
    "kind": (gettext_lazy("What is it?"), gettext_lazy("Choose the kind.")),
    "label": (gettext_lazy("Care label?"), gettext_lazy("Look for it.")),
    "work": (gettext_lazy("Which alteration?"), gettext_lazy("Choose the operation.")),
}

_LOOK = {
    "found_unnamed": (
        gettext_lazy("Something was found in a pocket, but not what."),
        gettext_lazy("Write what it was and where it went, for example: pen, given back."),
    ),
    "fault_unnamed": (
        gettext_lazy("A fastening is faulty, but not which."),
        gettext_lazy("Write which one, for example: second button missing."),
    ),
    "stains_listed": (
        gettext_lazy("The answer is “none seen”, but listed are: %(what)s."),
        gettext_lazy("Take the stains off the list, or answer “listed”."),
    ),
    "no_stain_listed": (
        gettext_lazy("The answer is “listed”, but no stain is listed."),
        gettext_lazy("Add each stain (“unknown” is one), or answer “none seen”."),
    ),
    "damage_listed": (
        gettext_lazy("The answer is “none seen”, but listed is: %(what)s."),
        gettext_lazy("Take the damage off the list, or answer “listed”."),
    ),
    "no_damage_listed": (
        gettext_lazy("The answer is “listed”, but no damage is listed."),
        gettext_lazy("Add the damage, or answer “none seen”."),
    ),
    "button_listed": (
        gettext_lazy("The answer is “has none”, but a loose button is listed."),
        gettext_lazy("Answer “something is faulty”, or take the loose button off the list."),
    ),
}


def asked(question: str) -> str:
    """A question of the look over a piece, not answered yet."""
    return _("%(question)s?") % {"question": ASKED[question]}


def not_told(field: str) -> Fault:
    """A fact that nobody has told yet."""
    says, cure = _OPEN[field]
    return str(says), str(cure)


def no_service(offered: Iterable[object]) -> Fault:
    return _("What is asked?"), _("Choose one or more of: %(offered)s.") % {
        "offered": ", ".join(map(str, offered))
    }


def not_usable(value: object, cure: str) -> Fault:
    return _("“%(value)s” can't be used.") % {"value": value}, f"{cure}."


def not_listed(value: str, near: Sequence[str]) -> Fault:
    """A word off a list, with the ``near`` names on it."""
    says = _("“%(value)s” is not on the list.") % {"value": value}
    if near:
        return says, _("Did you mean: %(names)s?") % {"names": ", ".join(near)}
    return says, _("Choose one from the list.")


def unequal_shares(part: object, total: float) -> Fault:
    """``total`` in percent."""
    says = _("%(part)s: the fibres add up to %(total)g %%.") % {"part": part, "total": total}
    return says, _("Correct the figures, or add the rest as “unknown”.")


def too_long(text: str, most: int) -> Fault:
    says = _("%(text)s… has %(count)d characters.") % {"text": text[:20], "count": len(text)}
    return says, _("At most %(most)d fit.") % {"most": most}


def no_weight(value: object, most: int) -> Fault:
    """``most`` in grams."""
    return _("%(value)s is not a weight in grams.") % {"value": value}, _(
        "Write whole grams up to %(most)d, or leave it empty."
    ) % {"most": most}


def no_price(what: str) -> Fault:
    return _("No price for: %(what)s.") % {"what": what}, _(
        "Type the price here, or ask the owner to add it on the Shop page."
    )


def no_washes(value: str, most: int) -> Fault:
    return _("“%(value)s” is no count of washes.") % {"value": value}, _(
        "Write a whole number up to %(most)d, or leave it empty."
    ) % {"most": most}


# The look over the piece


def unanswered(question: str, given: str, offered: Iterable[object]) -> Fault:
    """A question without an answer, or with ``given`` that is none of those ``offered``."""
    if given:
        says = _("%(question)s: the answer %(given)s is not one of the choices.") % {
            "question": ASKED[question],
            "given": given,
        }
    else:
        says = _("%(question)s: not answered.") % {"question": ASKED[question]}
    cure = _("Look at the piece, then choose one of: %(offered)s.") % {
        "offered": ", ".join(map(str, offered))
    }
    return says, cure


def look_fault(fault: str, listed: Sequence[str] = ()) -> Fault:
    """An answer that the rest of the piece contradicts, by its key; ``listed``: what is listed."""
    says, cure = _LOOK[fault]
    return str(says) % {"what": ", ".join(listed)}, str(cure)
