"""Limits at the counter: the table of a piece's treatments, and single limits in the care book."""

from __future__ import annotations

from dataclasses import dataclass

from care_rules.decision import (
    AirDryLimit,
    DryCleanLimit,
    IronLimit,
    TreatmentLimits,
    WashLimit,
    WetCleanLimit,
)
from care_rules.limits import HOTTEST_IRON, HOTTEST_WATER
from care_rules.speech import each_language
from care_rules.speech import gettext as _
from care_rules.wording.words import action_word, bleaches, degrees, spins, tumbles

HOTTEST = {"wash.max_c": HOTTEST_WATER, "iron.max_c": HOTTEST_IRON}
_FORBIDDING = {"wash.allowed", "iron.steam", "wet_clean.allowed", "load.softener"}
"""Yes-or-no limits where no forbids; with the others a yes demands something."""


@dataclass(frozen=True, slots=True)
class TreatmentLine:
    """One treatment. ``paths`` are the limits it speaks of, ``never`` says that it is forbidden."""

    name: str
    words: str
    paths: tuple[str, ...]
    never: bool = False


def treatment_lines(limits: TreatmentLimits, *, fahrenheit: bool = False) -> list[TreatmentLine]:
    """All seven treatments in label order."""
    bleach, tumble = limits.bleach, limits.tumble
    return [
        _wash_line(limits.wash, fahrenheit),
        TreatmentLine(_("Bleach"), bleaches()[bleach].line, ("bleach",), bleach == "none"),
        TreatmentLine(_("Tumble"), tumbles()[tumble].line, ("tumble",), tumble == "none"),
        _air_dry_line(limits.air_dry),
        _iron_line(limits.iron, fahrenheit),
        _dry_clean_line(limits.dry_clean),
        _wet_clean_line(limits.wet_clean),
    ]


def _wash_line(wash: WashLimit, fahrenheit: bool) -> TreatmentLine:
    paths = ("wash.allowed", "wash.max_c", "wash.action", "wash.hand_only", "wash.spin")
    if not wash.allowed:
        return TreatmentLine(_("Wash"), _("never in water"), paths, never=True)
    words = [_("at most {degrees}", degrees=degrees(wash.max_c, fahrenheit))]
    words.append(_("by hand only") if wash.hand_only else action_word(wash.action))
    words += filter(None, [spins()[wash.spin].line])
    return TreatmentLine(_("Wash"), ", ".join(words), paths)


def _air_dry_line(air: AirDryLimit) -> TreatmentLine:
    words = [_("may hang") if air.hang else _("lay flat")]
    words += [_("dripping wet")] if air.drip else []
    words += [_("in the shade")] if air.shade else []
    paths = ("air_dry.hang", "air_dry.drip", "air_dry.shade")
    return TreatmentLine(_("Air dry"), ", ".join(words), paths)


def _iron_line(iron: IronLimit, fahrenheit: bool) -> TreatmentLine:
    paths = ("iron.max_c", "iron.steam", "iron.reverse_side", "iron.press_cloth")
    if not iron.max_c:
        says = _("never; steam without touching") if iron.steam else _("never")
        return TreatmentLine(_("Iron"), says, paths, never=True)
    words = [_("at most {degrees}", degrees=degrees(iron.max_c, fahrenheit))]
    words.append(_("steam allowed") if iron.steam else _("no steam"))
    words += [_("from the back")] if iron.reverse_side else []
    words += [_("with a press cloth")] if iron.press_cloth else []
    return TreatmentLine(_("Iron"), ", ".join(words), paths)


def _dry_clean_line(dry: DryCleanLimit) -> TreatmentLine:
    paths = ("dry_clean.solvents", "dry_clean.action")
    if not dry.solvents:
        return TreatmentLine(_("Dry clean"), _("never"), paths, never=True)
    words = _(
        "solvents {solvents}, {action}",
        solvents=", ".join(dry.solvents),
        action=action_word(dry.action),
    )
    return TreatmentLine(_("Dry clean"), words, paths)


def _wet_clean_line(wet: WetCleanLimit) -> TreatmentLine:
    paths = ("wet_clean.allowed", "wet_clean.action")
    if not wet.allowed:
        return TreatmentLine(_("Wet clean"), _("never"), paths, never=True)
    return TreatmentLine(_("Wet clean"), action_word(wet.action), paths)


# The care book


@each_language
def limit_names() -> dict[str, str]:
    """What each limit is called, by its path."""
    return {
        "wash.allowed": _("Washing"),
        "wash.max_c": _("Water"),
        "wash.action": _("Wash action"),
        "wash.hand_only": _("Wash by hand"),
        "wash.spin": _("Spin"),
        "bleach": _("Bleach"),
        "tumble": _("Tumble drying"),
        "air_dry.hang": _("Hanging to dry"),
        "air_dry.drip": _("Drip drying"),
        "air_dry.shade": _("Dry in shade"),
        "iron.max_c": _("Iron"),
        "iron.steam": _("Steam"),
        "iron.reverse_side": _("Iron from back"),
        "iron.press_cloth": _("Press cloth"),
        "dry_clean.solvents": _("Dry cleaning solvent"),
        "dry_clean.action": _("Dry cleaning action"),
        "wet_clean.allowed": _("Wet cleaning"),
        "wet_clean.action": _("Wet cleaning action"),
        "load.alone": _("Alone in machine"),
        "load.mesh_bag": _("Mesh bag"),
        "load.inside_out": _("Inside out"),
        "load.softener": _("Softener"),
    }


def limit_name(path: str) -> str:
    return limit_names().get(path, path)


def value_words(path: str, value: str, *, fahrenheit: bool = False) -> str:
    """A limit's value as staff say it: ``at most 30 °C``, ``low heat``, ``lay flat``.

    ``path`` and ``value`` are written as in the rule tables.
    """
    if path in HOTTEST:
        if value == "0":
            return _("never")
        return _("at most {degrees}", degrees=degrees(int(value), fahrenheit))
    if path.endswith(".action"):
        return action_word(value)
    if path in ("bleach", "tumble", "wash.spin"):
        words = {"bleach": bleaches, "tumble": tumbles, "wash.spin": spins}[path]()
        return words[value].value if value in words else value
    if path == "air_dry.hang":
        return _("may hang") if value == "true" else _("lay flat")
    if path == "dry_clean.solvents":
        return {"PF": _("P or F"), "F": _("F only"), "none": _("never")}.get(value, value)
    if path in _FORBIDDING:
        return _("allowed") if value == "true" else _("never")
    return _("needed") if value == "true" else _("not needed")


def forbids(path: str, value: str) -> bool:
    """Whether a limit closes its treatment: what ``value_words`` says of it is never."""
    return value_words(path, value) == _("never")


def short_value(path: str, value: str) -> str:
    """The value as it stands under a scale, where a temperature is a bare figure."""
    if path in HOTTEST and value != "0":
        return value
    return value_words(path, value)
