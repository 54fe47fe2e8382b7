"""Orders to the crew: what a piece must never get, and how it goes into a machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from care_rules.decision import IronLimit, LoadLimit, TreatmentLimits, WashLimit
from care_rules.speech import gettext as _
from care_rules.wording.words import action_word, bleaches, degrees, group_words, spins, tumbles

LOW_WASH_C, LOW_IRON_C = 40, 150
"""At or below these a temperature is worth saying at the machine: common practice, no source."""


@dataclass(frozen=True, slots=True)
class CrewLine:
    """One order: ``closed`` is a treatment never given, else a bound tighter than usual."""

    path: str
    says: str
    closed: bool


def crew_lines(limits: TreatmentLimits, *, fahrenheit: bool = False) -> Iterator[CrewLine]:
    """What the piece must never get and where it is bound tighter than usual, in label order."""
    yield from _wash_orders(limits.wash, fahrenheit)
    if order := bleaches()[limits.bleach].order:
        yield CrewLine("bleach", order, True)
    if order := tumbles()[limits.tumble].order:
        yield CrewLine("tumble", order, limits.tumble == "none")
    air = limits.air_dry
    if not air.hang:
        yield CrewLine("air_dry.hang", _("Never hang while wet: lay flat"), True)
    if air.drip:
        yield CrewLine("air_dry.drip", _("Never spin or wring: drip dry"), True)
    if air.shade:
        yield CrewLine("air_dry.shade", _("Never in the sun: dry in shade"), True)
    yield from _iron_orders(limits.iron, fahrenheit)
    dry = limits.dry_clean
    if not dry.solvents:
        yield CrewLine("dry_clean.solvents", _("Never dry-clean; no solvent"), True)
    else:
        if "P" not in dry.solvents:
            says = _("No perchloroethylene; hydrocarbon only")
            yield CrewLine("dry_clean.solvents", says, True)
        if dry.action != "normal":
            says = _("Dry-clean at most {action}", action=action_word(dry.action))
            yield CrewLine("dry_clean.action", says, False)
    if not limits.wet_clean.allowed:
        yield CrewLine("wet_clean.allowed", _("Never professional wet cleaning"), True)


def _wash_orders(wash: WashLimit, fahrenheit: bool) -> Iterator[CrewLine]:
    if not wash.allowed:
        yield CrewLine("wash.allowed", _("Never wash in water"), True)
        return
    if wash.max_c <= LOW_WASH_C:
        says = _("Water never above {heat}", heat=degrees(wash.max_c, fahrenheit))
        yield CrewLine("wash.max_c", says, False)
    if wash.hand_only:
        yield CrewLine("wash.hand_only", _("Never in the machine: by hand only"), True)
    elif wash.action != "normal":
        says = _("Action never above {action}", action=action_word(wash.action))
        yield CrewLine("wash.action", says, False)
    if order := spins()[wash.spin].order:
        yield CrewLine("wash.spin", order, wash.spin == "none")


def _iron_orders(iron: IronLimit, fahrenheit: bool) -> Iterator[CrewLine]:
    if not iron.max_c:
        says = _("Never iron: steam without touching") if iron.steam else _("Never iron or press")
        yield CrewLine("iron.max_c", says, True)
        return
    if iron.max_c <= LOW_IRON_C:
        says = _("Iron never above {heat}", heat=degrees(iron.max_c, fahrenheit))
        yield CrewLine("iron.max_c", says, False)
    if not iron.steam:
        yield CrewLine("iron.steam", _("Never steam"), True)
    if iron.reverse_side:
        yield CrewLine("iron.reverse_side", _("Press on the reverse side only"), False)
    if iron.press_cloth:
        yield CrewLine("iron.press_cloth", _("Press through a cloth only"), False)


def load_words(load: LoadLimit) -> list[str]:
    """How a piece goes into a machine."""
    words = [_("alone in the machine")] if load.alone else []
    words += [_("inside out")] if load.inside_out else []
    words += [_("in a mesh bag")] if load.mesh_bag else []
    words += [] if load.softener else [_("no softener")]
    return [*words, _("with {colour} only", colour=group_words(load.colour_group))]
