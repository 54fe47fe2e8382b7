"""The words of single values: what every voice is made of."""

from __future__ import annotations

from dataclasses import dataclass

from care_rules.speech import each_language
from care_rules.speech import gettext as _


@dataclass(frozen=True, slots=True)
class Said:
    """One value of a limit in each voice; empty where a voice leaves it unsaid."""

    order: str = ""
    line: str = ""
    value: str = ""
    advice: str = ""
    tag: str = ""


def degrees(celsius: float, fahrenheit: bool = False) -> str:
    """``30 °C``, or ``30 °C / 86 °F`` where asked for both."""
    shown = f"{celsius:g} °C"
    return f"{shown} / {round(celsius * 9 / 5 + 32)} °F" if fahrenheit else shown


@each_language
def bleaches() -> dict[str, Said]:
    return {
        "any": Said(line=_("any"), value=_("any")),
        "oxygen": Said(
            _("No chlorine bleach; oxygen only"),
            _("oxygen bleach only"),
            _("oxygen only"),
            _("Use no chlorine bleach; an oxygen bleach at most."),
            _("No chlorine"),
        ),
        "none": Said(
            _("Never bleach, of any kind"),
            _("never"),
            _("never"),
            _("Use no bleach."),
            _("No bleach"),
        ),
    }


@each_language
def tumbles() -> dict[str, Said]:
    return {
        "normal": Said("", _("normal heat"), _("normal heat"), _("It may be tumble dried.")),
        "low": Said(
            _("Tumble on low heat only"),
            _("low heat"),
            _("low heat"),
            _("Tumble dry on low heat at most."),
            _("Tumble low"),
        ),
        "no_heat": Said(
            _("Tumble without heat only"),
            _("without heat"),
            _("no heat"),
            _("Tumble dry without heat at most."),
            _("Tumble no heat"),
        ),
        "none": Said(
            _("Never tumble dry"),
            _("never"),
            _("never"),
            _("Do not tumble dry."),
            _("No tumble"),
        ),
    }


@each_language
def spins() -> dict[str, Said]:
    return {
        "normal": Said(value=_("normal")),
        "reduced": Said(
            _("Short, slow spin only"), _("short spin"), _("short"), _("Spin it briefly.")
        ),
        "none": Said(_("Never spin or wring"), _("no spin"), _("none"), _("Do not spin it.")),
    }


def action_word(action: str) -> str:
    words = {"normal": _("normal"), "mild": _("mild"), "very_mild": _("very mild")}
    return words.get(action, action.replace("_", " "))


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
        "mixed": _("mixed"),
        "unknown": _("unknown"),
    }[colour_group]


def process_words(process: str) -> str:
    return {
        "machine_wash": _("machine wash"),
        "hand_wash": _("hand wash"),
        "wet_clean": _("wet clean"),
        "dry_clean": _("dry clean"),
    }[process]
