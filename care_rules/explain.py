"""A decision in plain words: advice for the customer, and the shortest line for a tag.

Both read the decision's JSON, so that a stored decision still speaks after the tables change.
Nothing here promises that a mark will come out, or that a piece is clean or safe.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from care_rules.tables import book

_ACTION = {"normal": "", "mild": " mild", "very_mild": " very mild"}
_SHORT_TUMBLE = {"none": "No tumble", "no_heat": "Tumble no heat", "low": "Tumble low"}


def home_care(decision: Mapping[str, Any]) -> list[str]:
    """Advice for the customer at home, drawn from the limits of a decision."""
    limits, load = decision["limits"], decision["load"]
    if decision["process"] == "specialist":
        return [
            "Wipe off dust with a soft dry cloth; leave cleaning to a leather or fur specialist.",
            "Let it dry away from heat if it gets wet.",
            "Store it on a broad hanger in a breathable cover, away from sun.",
        ]
    said = [_wash(limits, load), _bleach(limits["bleach"]), *_dry(limits), _iron(limits["iron"])]
    said += _professional(limits, decision["process"])
    if _airs(decision):
        said.append("Between wearings, air it and brush it; it seldom needs more.")
    said.append("Put it away clean and fully dry, in breathable cloth; plastic holds damp.")
    return [line for line in said if line]


def _wash(limits: Mapping[str, Any], load: Mapping[str, Any]) -> str:
    wash = limits["wash"]
    if not wash["allowed"]:
        return "Do not wash it at home."
    if wash["hand_only"]:
        text = f"Wash by hand in water of at most {wash['max_c']} °C; do not rub or wring."
    else:
        how = {"normal": "", "mild": " on a gentle programme", "very_mild": " on the wool or silk"}
        tail = " programme" if wash["action"] == "very_mild" else ""
        text = f"Wash at {wash['max_c']} °C at most{how[wash['action']]}{tail}."
    if wash["spin"] == "none":
        text += " Do not spin it."
    elif wash["spin"] == "reduced":
        text += " Spin it briefly."
    if load["alone"]:
        text += " Wash it alone."
    elif load["colour_group"] not in ("unknown", "white"):
        text += " Wash it with like colours."
    elif load["colour_group"] == "white":
        text += " Wash it with white things only."
    if load["inside_out"]:
        text += " Turn it inside out."
    if load["mesh_bag"]:
        text += " Use a net bag."
    if not load["softener"]:
        text += " Leave out fabric softener."
    return text


def _bleach(bleach: str) -> str:
    return {
        "none": "Use no bleach.",
        "oxygen": "Use no chlorine bleach; an oxygen bleach at most.",
        "any": "",
    }[bleach]


def _dry(limits: Mapping[str, Any]) -> list[str]:
    if not limits["wash"]["allowed"]:
        return []
    air = limits["air_dry"]
    tumble = {
        "none": "Do not tumble dry.",
        "no_heat": "Tumble dry without heat at most.",
        "low": "Tumble dry on low heat at most.",
        "normal": "It may be tumble dried.",
    }[limits["tumble"]]
    text = "hang it to dry" if air["hang"] else "lay it flat to dry"
    text = f"Or {text}" if limits["tumble"] != "none" else text.capitalize()
    text += " dripping wet" if air["drip"] else ""
    text += ", out of the sun" if air["shade"] else ""
    return [tumble, text + "."]


def _iron(iron: Mapping[str, Any]) -> str:
    if not iron["max_c"]:
        return "Do not iron it." + (" Steam from a distance is allowed." if iron["steam"] else "")
    dots = "one dot" if iron["max_c"] < 150 else "two dots" if iron["max_c"] < 200 else "three dots"
    text = f"Iron at {iron['max_c']} °C at most ({dots})"
    text += "" if iron["steam"] else ", without steam"
    text += ", on the reverse" if iron["reverse_side"] else ""
    text += ", through a cloth" if iron["press_cloth"] else ""
    return text + "."


def _professional(limits: Mapping[str, Any], process: str) -> list[str]:
    solvents = limits["dry_clean"]["solvents"]
    if process == "dry_clean":
        return [
            "Have it dry cleaned; take the plastic cover off at once and let it air.",
        ]
    if process == "wet_clean":
        return ["Have it wet cleaned by a professional."]
    return [] if solvents else ["Do not have it dry cleaned."]


def _airs(decision: Mapping[str, Any]) -> bool:
    """Whether a natural fibre spoke in the decision: those air well instead of washing."""
    keys = {key for keys in decision["because"].values() for key in keys}
    rules = book().rules
    return any(key in rules and rules[key].flag("air") for key in keys if key.startswith("fibre."))


def strongest_limits(decision: Mapping[str, Any]) -> list[str]:
    """Up to three limits for a tag, strongest first: words and figures, no symbols."""
    limits = decision["limits"]
    wash, iron, dry = limits["wash"], limits["iron"], limits["dry_clean"]
    weighed: list[tuple[float, str]] = []
    if not wash["allowed"]:
        weighed.append((10, "No wash"))
    else:
        action = _ACTION[wash["action"]]
        how = "Hand wash" if wash["hand_only"] else "Wash"
        tail = "" if wash["hand_only"] else action
        strength = 4 + (95 - wash["max_c"]) / 20 + len(action) / 10
        weighed.append((strength, f"{how} {wash['max_c']} °C{tail}"))
    if limits["tumble"] in _SHORT_TUMBLE:
        strength = {"none": 8.0, "no_heat": 6.0, "low": 2.0}[limits["tumble"]]
        weighed.append((strength, _SHORT_TUMBLE[limits["tumble"]]))
    if not iron["max_c"]:
        weighed.append((7.5, "No iron"))
    elif iron["max_c"] < 200 or not iron["steam"]:
        steam = "" if iron["steam"] else " no steam"
        weighed.append(((210 - iron["max_c"]) / 18, f"Iron {iron['max_c']} °C{steam}"))
    if not dry["solvents"]:
        weighed.append((7.0 if not wash["allowed"] else 3.0, "No dry clean"))
    elif dry["solvents"] == ["F"]:
        weighed.append(
            (3.5 if not wash["allowed"] else 1.0, f"Dry clean F{_ACTION[dry['action']]}")
        )
    if limits["bleach"] == "none":
        weighed.append((1.5, "No bleach"))
    elif limits["bleach"] == "oxygen":
        weighed.append((1.0, "No chlorine"))
    if not limits["air_dry"]["hang"]:
        weighed.append((2.5, "Dry flat"))
    weighed.sort(key=lambda pair: (-pair[0], pair[1]))
    return [text for _, text in weighed[:3]]
