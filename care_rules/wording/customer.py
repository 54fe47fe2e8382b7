"""The voices for the customer: advice for home, and the shortest line for a tag.

Advice is drawn from the decision as it was stored, so it still speaks after the tables change.
"""

from __future__ import annotations

from care_rules.decision import Decision, IronLimit, LoadLimit, TreatmentLimits, WashLimit
from care_rules.speech import gettext as _
from care_rules.tables import book
from care_rules.wording.words import bleaches, spins, tumbles

#: How much a limit matters on a tag, where there is room for three.
_TUMBLE_WEIGHTS = {"none": 8.0, "no_heat": 6.0, "low": 2.0}
_BLEACH_WEIGHTS = {"none": 1.5, "oxygen": 1.0}


def home_care(decision: Decision) -> list[str]:
    """Advice for the customer at home, drawn from the limits of a decision."""
    limits, load = decision.limits, decision.load
    if decision.process == "specialist":
        return [
            _("Wipe off dust with soft dry cloth; leave cleaning to a leather or fur specialist."),
            _("Let it dry away from heat if it gets wet."),
            _("Store it on a broad hanger in a breathable cover, away from sun."),
        ]
    said = [_wash(limits.wash, load), bleaches()[limits.bleach].advice, *_dry(limits)]
    said.append(_iron(limits.iron))
    said += _professional(limits, decision.process)
    if _airs(decision):
        said.append(_("Between wearings, air it and brush it; it seldom needs more."))
    said.append(_("Put it away clean and fully dry, in breathable cloth; plastic holds damp."))
    return [line for line in said if line]


def _wash(wash: WashLimit, load: LoadLimit) -> str:
    if not wash.allowed:
        return _("Do not wash it at home.")
    said = [_bath(wash), spins()[wash.spin].advice]
    if load.alone:
        said.append(_("Wash it alone."))
    elif load.colour_group == "white":
        said.append(_("Wash it with white things only."))
    elif load.colour_group != "unknown":
        said.append(_("Wash it with like colours."))
    if load.inside_out:
        said.append(_("Turn it inside out."))
    if load.mesh_bag:
        said.append(_("Use a net bag."))
    if not load.softener:
        said.append(_("Leave out fabric softener."))
    return " ".join(filter(None, said))


def _bath(wash: WashLimit) -> str:
    water = wash.max_c
    if wash.hand_only:
        return _("Wash by hand in water of at most {c} °C; do not rub or wring.", c=water)
    if wash.action == "mild":
        return _("Wash at {c} °C at most on a gentle programme.", c=water)
    if wash.action == "very_mild":
        return _("Wash at {c} °C at most on the wool or silk programme.", c=water)
    return _("Wash at {c} °C at most.", c=water)


def _dry(limits: TreatmentLimits) -> list[str]:
    if not limits.wash.allowed:
        return []
    air = limits.air_dry
    if limits.tumble != "none":
        said = [_("Or hang it to dry") if air.hang else _("Or lay it flat to dry")]
    else:
        said = [_("Hang it to dry") if air.hang else _("Lay it flat to dry")]
    said += [_("dripping wet")] if air.drip else []
    said += [_("out of the sun")] if air.shade else []
    return [tumbles()[limits.tumble].advice, ", ".join(said) + "."]


def _iron(iron: IronLimit) -> str:
    sole = iron.max_c
    if not sole:
        said = [_("Do not iron it.")]
        said += [_("Steam from a distance is allowed.")] if iron.steam else []
        return " ".join(said)
    dots = _("one dot") if sole < 150 else _("two dots") if sole < 200 else _("three dots")
    said = [_("Iron at {c} °C at most ({dots})", c=sole, dots=dots)]
    said += [] if iron.steam else [_("without steam")]
    said += [_("on the reverse")] if iron.reverse_side else []
    said += [_("through a cloth")] if iron.press_cloth else []
    return ", ".join(said) + "."


def _professional(limits: TreatmentLimits, process: str) -> list[str]:
    if process == "dry_clean":
        return [_("Have it dry cleaned; take the plastic cover off at once and let it air.")]
    if process == "wet_clean":
        return [_("Have it wet cleaned by a professional.")]
    return [] if limits.dry_clean.solvents else [_("Do not have it dry cleaned.")]


def _airs(decision: Decision) -> bool:
    """Whether a natural fibre spoke in the decision: those air well instead of washing."""
    keys = {key for keys in decision.because.values() for key in keys}
    rules = book().rules
    return any(key in rules and rules[key].flag("air") for key in keys if key.startswith("fibre."))


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
