"""What is wrong or still open on a draft, in the counter's words."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from counter.intake.lists import FIBRES, HAZARDS, KINDS, STAINS, TERMS, TRIMS, WORK

PICKS = {
    "kind": KINDS,
    "components": FIBRES,
    "stains": STAINS,
    "trims": TRIMS,
    "work": WORK,
    "hazards": HAZARDS,
    "terms": TERMS,
}


@dataclass(frozen=True)
class LookFault:
    """``field`` is the form's group it belongs to. ``open`` means not answered yet, not wrong."""

    field: str
    says: str
    cure: str = ""
    open: bool = False


def fault_of(path: str, value: object, cure: str) -> LookFault:
    """A fault of the facts in the counter's words: a word off a list gets the nearest names."""
    group = _group_of(path)
    chooser = PICKS.get(group)
    if chooser is None or not isinstance(value, str) or path.endswith("percent"):
        shown = value if isinstance(value, str | int | float) else ""
        return LookFault(group, _("“%(value)s” can't be used.") % {"value": shown}, f"{cure}.")
    near = chooser.nearest(value)
    if near:
        cure = _("Did you mean: %(names)s?") % {"names": ", ".join(near)}
    else:
        cure = _("Choose one from the list.")
    return LookFault(group, _("“%(value)s” is not on the list.") % {"value": value}, cure)


def _group_of(path: str) -> str:
    """The editor's group for a path of the contract: ``label.terms[0]`` belongs to ``terms``."""
    parts = path.split("[")[0].split(".")
    return parts[1] if parts[0] == "label" and parts[-1] in ("terms", "symbols") else parts[0]
