"""The voices for the customer: advice for home, and the shortest line for a tag.

Advice is drawn from the decision as it was stored, so it still speaks after the tables change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from care_rules.decision import Decision, IronLimit, LoadLimit, TreatmentLimits, WashLimit
from care_rules.speech import gettext as _
from care_rules.tables import Book, book
from care_rules.wording.words import bleaches, tumbles

#: How much a limit matters on a tag, where there is room for three.
_TUMBLE_WEIGHTS = {"none": 8.0, "no_heat": 6.0, "low": 2.0}
_BLEACH_WEIGHTS = {"none": 1.5, "oxygen": 1.0}


@dataclass(frozen=True, slots=True)
class HomeMaterial:
    """What advice for home needs to know of the cloth: whether it airs well instead of being
    washed, and the key of a detergent that it must have (that for wool holds no enzymes)."""

    airs: bool = False
    detergent: str = ""
    #: what warmth brings back, where the piece may be tumbled warm
    warm_says: tuple[str, ...] = ()


def home_care(decision: Decision) -> list[str]:
    """Advice for the customer at home; drawn from the limits where an old decision has none."""
    if decision.home or decision.outcome == "decline":
        return list(decision.home)
    material = _material_of(decision.because)
    return list(home_advice(decision.process, decision.limits, decision.load, material))


def home_advice(
    process: str, limits: TreatmentLimits, load: LoadLimit, material: HomeMaterial
) -> tuple[str, ...]:
    """Advice for the customer at home, drawn from limits and material."""
    return _advice(process, limits, load, material, book())


@lru_cache(maxsize=4096)
def _advice(
    process: str, limits: TreatmentLimits, load: LoadLimit, material: HomeMaterial, _tables: Book
) -> tuple[str, ...]:
    # Kept: thousands of pieces end at a few hundred sets of limits; the tables are of one language.
    if process == "specialist":
        return (
            _("Dust it with a soft dry cloth; a specialist cleans it."),
            _("Keep it dry, away from heat and sun."),
        )
    if limits.wash.allowed:
        said = [_wash(limits.wash, load), _detergent(limits, load, material), _dry(limits)]
    else:
        said = [_("Do not wash."), _professional(process)]
    if limits.wash.allowed and limits.tumble in ("low", "normal"):
        said += material.warm_says
    said.append(_iron(limits.iron))
    if material.airs:
        said.append(_("Air it rather than wash."))
    return tuple(line for line in said if line)


def _wash(wash: WashLimit, load: LoadLimit) -> str:
    said = [_bath(wash)]
    if load.alone:
        said.append(_("alone"))
    elif load.colour_group == "white":
        said.append(_("with whites"))
    elif load.colour_group != "unknown":
        said.append(_("with like colours"))
    said += [_("inside out")] if load.inside_out else []
    said += [_("in a net bag")] if load.mesh_bag else []
    if wash.hand_only:
        said.append(_("no wringing"))
    elif wash.spin == "none":
        said.append(_("no spin"))
    return ", ".join(said) + "."


def _bath(wash: WashLimit) -> str:
    water = wash.max_c
    if wash.hand_only:
        return _("Wash by hand up to {c} °C", c=water)
    if wash.action == "mild":
        return _("Wash gently up to {c} °C", c=water)
    if wash.action == "very_mild":
        return _("Wash on the wool cycle up to {c} °C", c=water)
    return _("Wash up to {c} °C", c=water)


def _detergent(limits: TreatmentLimits, load: LoadLimit, material: HomeMaterial) -> str:
    """Which detergent, how much of it in soft and in hard water, and what not to use."""
    white = load.colour_group == "white" and limits.bleach != "none"
    kind = material.detergent or ("heavy_duty" if white else "colour")
    cells = book()["detergents"][kind].cells
    by_hand = limits.wash.hand_only
    text = (
        _("Use {soft} ml {detergent} (hard water {hard}) to 5 litres")
        if by_hand
        else _("Use {soft} ml {detergent} (hard water {hard})")
    )
    said = text.format(
        detergent=cells["name"],
        soft=cells["hand_soft_ml" if by_hand else "soft_ml"],
        hard=cells["hand_hard_ml" if by_hand else "hard_ml"],
    )
    barred = {"none": [_("bleach")], "oxygen": [_("chlorine bleach")]}.get(limits.bleach, [])
    barred = [*barred, *([] if load.softener else [_("softener")])]
    if not barred:
        return f"{said}."
    *first, last = barred
    listed = _(" or ").join([", ".join(first), last]) if first else last
    return _("{said}, no {things}.", said=said, things=listed)


def _dry(limits: TreatmentLimits) -> str:
    air, tumble = limits.air_dry, limits.tumble
    said = [_("hang") if air.hang else _("dry flat")]
    said += [_("dripping wet")] if air.drip else []
    said += [_("in shade")] if air.shade else []
    laid = " ".join(said)
    text = {
        "none": _("{laid}, never tumble."),
        "no_heat": _("Tumble without heat or {laid}."),
        "low": _("Tumble low or {laid}."),
        "normal": _("Tumble dry or {laid}."),
    }[tumble]
    sentence = text.format(laid=laid)
    return sentence[:1].upper() + sentence[1:]


def _iron(iron: IronLimit) -> str:
    sole = iron.max_c
    if not sole:
        return _("Do not iron; steam it from a distance.") if iron.steam else _("Do not iron.")
    dots = _("one dot") if sole < 150 else _("two dots") if sole < 200 else _("three dots")
    said = [_("Iron on {dots}", dots=dots)]
    said += [] if iron.steam else [_("no steam")]
    said += [_("on the reverse")] if iron.reverse_side else []
    said += [_("through a cloth")] if iron.press_cloth else []
    return ", ".join(said) + "."


def _professional(process: str) -> str:
    return {
        "dry_clean": _("Have it dry cleaned; store it in cloth, not plastic."),
        "wet_clean": _("Have it wet cleaned by a professional."),
        "surface_clean": _("Wipe it with a barely damp cloth."),
    }.get(process, "")


def _material_of(because: Mapping[str, tuple[str, ...]]) -> HomeMaterial:
    """The material of an old decision, from the fibres that spoke in it."""
    rules, bans = book().rules, book().agent_bans
    keys = {key for keys in because.values() for key in keys if key.startswith("fibre.")}
    fibres = [rules[key] for key in keys if key in rules]
    enzymes_harm = any("enzyme" in bans.get(row.bare, ()) for row in fibres)
    return HomeMaterial(
        airs=any(row.flag("air") for row in fibres),
        detergent="wool" if enzymes_harm else "",
    )


def strongest_limits(decision: Decision) -> list[str]:
    """Up to three limits for a tag, strongest first: words and figures, no symbols."""
    limits = decision.limits
    wash, iron, dry = limits.wash, limits.iron, limits.dry_clean
    weighed = [_short_wash(wash)]
    if weight := _TUMBLE_WEIGHTS.get(limits.tumble):
        weighed.append((weight, tumbles()[limits.tumble].tag))
    if not iron.max_c:
        weighed.append((7.5, _("No iron")))
    elif iron.max_c < 200 or not iron.steam:
        text = _("Iron {c} °C") if iron.steam else _("Iron {c} °C no steam")
        weighed.append(((210 - iron.max_c) / 18, text.format(c=iron.max_c)))
    if not dry.solvents:
        weighed.append((3.0 if wash.allowed else 7.0, _("No dry clean")))
    elif dry.solvents == ("F",):
        text = {
            "normal": _("Dry clean F"),
            "mild": _("Dry clean F mild"),
            "very_mild": _("Dry clean F very mild"),
        }[dry.action]
        weighed.append((1.0 if wash.allowed else 3.5, text))
    if weight := _BLEACH_WEIGHTS.get(limits.bleach):
        weighed.append((weight, bleaches()[limits.bleach].tag))
    if not limits.air_dry.hang:
        weighed.append((2.5, _("Dry flat")))
    weighed.sort(key=lambda pair: (-pair[0], pair[1]))
    return [text for _strength, text in weighed[:3]]


def _short_wash(wash: WashLimit) -> tuple[float, str]:
    if not wash.allowed:
        return 10.0, _("No wash")
    gentle = {"normal": 0.0, "mild": 0.5, "very_mild": 1.0}[wash.action]
    if wash.hand_only:
        text = _("Hand wash {c} °C")
    else:
        text = {
            "normal": _("Wash {c} °C"),
            "mild": _("Wash {c} °C mild"),
            "very_mild": _("Wash {c} °C very mild"),
        }[wash.action]
    return 4 + (95 - wash.max_c) / 20 + gentle, text.format(c=wash.max_c)
