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
    tag: str = ""


def degrees(celsius: float, fahrenheit: bool) -> str:
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
            _("No chlorine"),
        ),
        "none": Said(
            _("Never bleach, of any kind"),
            _("never"),
            _("never"),
            _("No bleach"),
        ),
    }


@each_language
def tumbles() -> dict[str, Said]:
    return {
        "normal": Said("", _("normal heat"), _("normal heat")),
        "low": Said(
            _("Tumble on low heat only"),
            _("low heat"),
            _("low heat"),
            _("Tumble low"),
        ),
        "no_heat": Said(
            _("Tumble without heat only"),
            _("without heat"),
            _("no heat"),
            _("Tumble no heat"),
        ),
        "none": Said(
            _("Never tumble dry"),
            _("never"),
            _("never"),
            _("No tumble"),
        ),
    }


@each_language
def spins() -> dict[str, Said]:
    return {
        "normal": Said(value=_("normal")),
        "reduced": Said(_("Short, slow spin only"), _("short spin"), _("short")),
        "none": Said(_("Never spin or wring"), _("no spin"), _("none")),
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


def company_words(colour_group: str) -> str:
    """With what a piece goes into a bath; empty where its colour says nothing of it."""
    return {
        "white": _("with whites"),
        "light": _("with pale colours"),
        "bright": _("with bright colours"),
        "dark": _("with darks"),
        "denim": _("with denim"),
    }.get(colour_group, "")


def process_words(process: str) -> str:
    return {
        "machine_wash": _("machine wash"),
        "hand_wash": _("hand wash"),
        "wet_clean": _("wet clean"),
        "dry_clean": _("dry clean"),
    }[process]


@each_language
def specialist_words() -> dict[str, str]:
    """Specialist to what the crew does."""
    return {
        "licensed": _("Send it out to a firm that is licensed for it."),
        "conservator": _("Send it out to a textile conservator."),
        "fur": _("Send it out to the fur specialist."),
        "leather": _("Send it out to the leather specialist."),
        "carpet": _("Send it out to the carpet cleaner."),
        "hat": _("Send it out to the hat maker."),
        "shoe": _("Send it out to the shoe repairer."),
    }
