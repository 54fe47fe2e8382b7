"""Decisions in plain words and figures, for pages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from counter.models import Shop
from tickets.wording import action_word, degrees

PROCESSES = {
    "machine_wash": gettext_lazy("Machine wash"),
    "hand_wash": gettext_lazy("Hand wash"),
    "wet_clean": gettext_lazy("Wet clean"),
    "dry_clean": gettext_lazy("Dry clean"),
    "surface_clean": gettext_lazy("Surface clean"),
    "specialist": gettext_lazy("Leather and fur specialist"),
    "none": gettext_lazy("No cleaning"),
}
PLACES = {"in_house": gettext_lazy("in house"), "send_out": gettext_lazy("sent out")}
LEVEL_WORDS = {
    "info": gettext_lazy("Note"),
    "caution": gettext_lazy("Caution"),
    "hold": gettext_lazy("Needs a yes"),
    "refuse": gettext_lazy("Refused"),
}
LEVEL_SHAPES = {"info": "info", "caution": "bang", "hold": "pause", "refuse": "stop"}
STEP_NAMES = {
    "check": gettext_lazy("Check"),
    "remove_trim": gettext_lazy("Take off trims"),
    "stabilise": gettext_lazy("Make safe"),
    "test": gettext_lazy("Test"),
    "pre_spot": gettext_lazy("Spot"),
    "wash": gettext_lazy("Clean"),
    "rinse": gettext_lazy("Rinse"),
    "wet_check": gettext_lazy("Wet check"),
    "dry": gettext_lazy("Dry"),
    "cool_down": gettext_lazy("Cool down"),
    "unpick": gettext_lazy("Unpick"),
    "mend": gettext_lazy("Mend or alter"),
    "press": gettext_lazy("Press"),
    "inspect": gettext_lazy("Inspect"),
    "assemble": gettext_lazy("Assemble"),
    "send_out": gettext_lazy("Send out"),
}


@dataclass(frozen=True)
class LimitLine:
    """One treatment. ``paths`` are the limits it speaks of, ``never`` says that it is forbidden."""

    name: str
    words: str
    paths: tuple[str, ...]
    never: bool = False


def limit_lines(limits: Mapping[str, Any], shop: Shop) -> list[LimitLine]:
    """All seven treatments of ``decision["limits"]`` in label order."""
    return [
        _wash(limits["wash"], shop),
        _bleach(limits["bleach"]),
        _tumble(limits["tumble"]),
        _air_dry(limits["air_dry"]),
        _iron(limits["iron"], shop),
        _dry_clean(limits["dry_clean"]),
        _wet_clean(limits["wet_clean"]),
    ]


def _wash(wash: Mapping[str, Any], shop: Shop) -> LimitLine:
    paths = ("wash.allowed", "wash.max_c", "wash.action", "wash.hand_only", "wash.spin")
    if not wash["allowed"]:
        return LimitLine(_("Wash"), _("never in water"), paths, never=True)
    words = [_("at most %(degrees)s") % {"degrees": degrees(wash["max_c"], shop.fahrenheit)}]
    words.append(_("by hand only") if wash["hand_only"] else action_word(wash["action"]))
    if wash["spin"] == "none":
        words.append(_("no spin"))
    elif wash["spin"] == "reduced":
        words.append(_("short spin"))
    return LimitLine(_("Wash"), ", ".join(words), paths)


def _bleach(bleach: str) -> LimitLine:
    words = {"none": _("never"), "oxygen": _("oxygen bleach only"), "any": _("any")}
    return LimitLine(_("Bleach"), words[bleach], ("bleach",), never=bleach == "none")


def _tumble(tumble: str) -> LimitLine:
    words = {
        "none": _("never"),
        "no_heat": _("without heat"),
        "low": _("low heat"),
        "normal": _("normal heat"),
    }
    return LimitLine(_("Tumble"), words[tumble], ("tumble",), never=tumble == "none")


def _air_dry(air: Mapping[str, Any]) -> LimitLine:
    words = [_("may hang") if air["hang"] else _("lay flat")]
    if air["drip"]:
        words.append(_("dripping wet"))
    if air["shade"]:
        words.append(_("in the shade"))
    return LimitLine(
        _("Air dry"), ", ".join(words), ("air_dry.hang", "air_dry.drip", "air_dry.shade")
    )


def _iron(iron: Mapping[str, Any], shop: Shop) -> LimitLine:
    paths = ("iron.max_c", "iron.steam", "iron.reverse_side", "iron.press_cloth")
    if not iron["max_c"]:
        return LimitLine(_("Iron"), _("never"), paths, never=True)
    words = [_("at most %(degrees)s") % {"degrees": degrees(iron["max_c"], shop.fahrenheit)}]
    words.append(_("steam allowed") if iron["steam"] else _("no steam"))
    if iron["reverse_side"]:
        words.append(_("from the back"))
    if iron["press_cloth"]:
        words.append(_("with a press cloth"))
    return LimitLine(_("Iron"), ", ".join(words), paths)


def _dry_clean(dry: Mapping[str, Any]) -> LimitLine:
    paths = ("dry_clean.solvents", "dry_clean.action")
    if not dry["solvents"]:
        return LimitLine(_("Dry clean"), _("never"), paths, never=True)
    words = _("solvents %(solvents)s, %(action)s") % {
        "solvents": ", ".join(dry["solvents"]),
        "action": action_word(dry["action"]),
    }
    return LimitLine(_("Dry clean"), words, paths)


def _wet_clean(wet: Mapping[str, Any]) -> LimitLine:
    paths = ("wet_clean.allowed", "wet_clean.action")
    if not wet["allowed"]:
        return LimitLine(_("Wet clean"), _("never"), paths, never=True)
    return LimitLine(_("Wet clean"), action_word(wet["action"]), paths)
