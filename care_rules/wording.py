"""Values of the contract as words in a sentence."""

from __future__ import annotations

from care_rules.speech import gettext as _


def action_words(action: str) -> str:
    return {
        "normal": _("normal action"),
        "mild": _("mild action"),
        "very_mild": _("very mild action"),
    }[action]


def spin_words(spin: str) -> str:
    return {"normal": _("normal spin"), "reduced": _("reduced spin"), "none": _("no spin")}[spin]


def group_words(colour_group: str) -> str:
    return {
        "white": _("white"),
        "light": _("light"),
        "bright": _("bright"),
        "dark": _("dark"),
        "denim": _("denim"),
    }[colour_group]


def process_words(process: str) -> str:
    return {
        "machine_wash": _("machine wash"),
        "hand_wash": _("hand wash"),
        "wet_clean": _("wet clean"),
        "dry_clean": _("dry clean"),
    }[process]
