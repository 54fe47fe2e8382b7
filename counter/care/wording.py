"""Limits of the care tables in words and figures, and the names of their rules, for pages."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from care_rules.limits import HOTTEST_IRON, HOTTEST_WATER
from counter.models import Shop
from tickets.wording import action_word, degrees

HOTTEST = {"wash.max_c": HOTTEST_WATER, "iron.max_c": HOTTEST_IRON}

LIMIT_NAMES = {
    "wash.allowed": gettext_lazy("Washing"),
    "wash.max_c": gettext_lazy("Water"),
    "wash.action": gettext_lazy("Wash action"),
    "wash.hand_only": gettext_lazy("Wash by hand"),
    "wash.spin": gettext_lazy("Spin"),
    "bleach": gettext_lazy("Bleach"),
    "tumble": gettext_lazy("Tumble drying"),
    "air_dry.hang": gettext_lazy("Hanging to dry"),
    "air_dry.drip": gettext_lazy("Drip drying"),
    "air_dry.shade": gettext_lazy("Drying in the shade"),
    "iron.max_c": gettext_lazy("Iron"),
    "iron.steam": gettext_lazy("Steam"),
    "iron.reverse_side": gettext_lazy("Ironing from the back"),
    "iron.press_cloth": gettext_lazy("Press cloth"),
    "dry_clean.solvents": gettext_lazy("Dry cleaning solvent"),
    "dry_clean.action": gettext_lazy("Dry cleaning action"),
    "wet_clean.allowed": gettext_lazy("Wet cleaning"),
    "wet_clean.action": gettext_lazy("Wet cleaning action"),
    "load.alone": gettext_lazy("Alone in the machine"),
    "load.mesh_bag": gettext_lazy("Mesh bag"),
    "load.inside_out": gettext_lazy("Inside out"),
    "load.softener": gettext_lazy("Softener"),
}
_ALLOWED = gettext_lazy("allowed")
_NEVER = gettext_lazy("never")
_NEEDED = gettext_lazy("needed")
_NOT_NEEDED = gettext_lazy("not needed")
_VALUES = {
    "wash.spin": {
        "normal": gettext_lazy("normal"),
        "reduced": gettext_lazy("short"),
        "none": gettext_lazy("none"),
    },
    "bleach": {
        "any": gettext_lazy("any"),
        "oxygen": gettext_lazy("oxygen only"),
        "none": _NEVER,
    },
    "tumble": {
        "normal": gettext_lazy("normal heat"),
        "low": gettext_lazy("low heat"),
        "no_heat": gettext_lazy("no heat"),
        "none": _NEVER,
    },
    "air_dry.hang": {"true": gettext_lazy("may hang"), "false": gettext_lazy("lay flat")},
    "dry_clean.solvents": {
        "PF": gettext_lazy("P or F"),
        "F": gettext_lazy("F only"),
        "none": _NEVER,
    },
}
_FORBIDDING = {"wash.allowed", "iron.steam", "wet_clean.allowed", "load.softener"}
"""Yes-or-no limits where no forbids; with the others a yes demands something."""

STRENGTH_WORDS = {
    "physical": gettext_lazy("firm: never lifted"),
    "usual": gettext_lazy("careful practice: an owner may lift it up to the label"),
    "default": gettext_lazy("only while the label says nothing about it"),
}
STATUS_WORDS = {
    "read": gettext_lazy("read in the source"),
    "practice": gettext_lazy("common practice, no published source"),
    "memory": gettext_lazy("from memory: the source is still to be checked"),
}
TABLE_WORDS = {
    "symbols": gettext_lazy("label symbol"),
    "ceilings": gettext_lazy("label"),
    "readings": gettext_lazy("label symbol"),
    "terms": gettext_lazy("words on the label"),
    "label_rules": gettext_lazy("label"),
    "composition_rules": gettext_lazy("fibres on the label"),
    "fibres": gettext_lazy("fibre"),
    "colours": gettext_lazy("colour"),
    "trims": gettext_lazy("trim or cloth"),
    "constructions": gettext_lazy("made how"),
    "kinds": gettext_lazy("kind of piece"),
    "stains": gettext_lazy("stain"),
    "agents": gettext_lazy("spotting agent"),
    "mixtures": gettext_lazy("mixture"),
    "hazards": gettext_lazy("hazard"),
    "damage": gettext_lazy("damage"),
    "work": gettext_lazy("bench work"),
    "notices": gettext_lazy("rule of the shop floor"),
    "house": gettext_lazy("house rule"),
}


def limit_name(path: str) -> str:
    return str(LIMIT_NAMES.get(path, path))


def value_words(path: str, value: str, shop: Shop) -> str:
    """A limit's value as staff say it: ``at most 30 °C``, ``low heat``, ``lay flat``."""
    if path in HOTTEST:
        if value == "0":
            return str(_NEVER)
        return _("at most %(degrees)s") % {"degrees": degrees(int(value), shop.fahrenheit)}
    if path.endswith(".action"):
        return str(action_word(value))
    if path in _VALUES:
        return str(_VALUES[path].get(value, value))
    if path in _FORBIDDING:
        return str(_ALLOWED if value == "true" else _NEVER)
    return str(_NEEDED if value == "true" else _NOT_NEEDED)


def short_value(path: str, value: str, shop: Shop) -> str:
    """The value as it stands under a scale."""
    if path in HOTTEST:
        return value if value != "0" else str(_NEVER)
    return value_words(path, value, shop)
