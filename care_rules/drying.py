"""How a piece is extracted and dried after its bath."""

from __future__ import annotations

import math

from care_rules.behaviour import rows_about, shrinking
from care_rules.decision import Settings
from care_rules.drying_time import hours_to_dry, water_to_lose
from care_rules.limits import (
    DRIP,
    HANG,
    HOTTEST_WATER,
    SHADE,
    SPIN,
    SPINS,
    TUMBLE,
    TUMBLES,
    WASH_C,
)
from care_rules.pressing import damp_for_press
from care_rules.process import WATER
from care_rules.speech import gettext as _
from care_rules.steps import Route

#: Cloth that stays wet longer than this smells of it, in hours (common practice, no source).
_TOO_LONG = 36


def spin_of(route: Route) -> str:
    """The spin of the bath; empty where it is left to the programme of the wet cleaning.

    A ban on washing bans its spin too, but says nothing of how a wet clean is extracted: there
    only a rule against spinning itself counts.
    """
    severity = route.tally.severity
    if route.process.name != "wet_clean" or severity[WASH_C] < HOTTEST_WATER:
        return SPINS[severity[SPIN]]
    for _key, pairs, _row in route.gather.rules:
        limits = {axis: value for axis, value, _softness in pairs}
        if SPINS[limits.get(SPIN, 0)] == "none" and limits.get(WASH_C) != HOTTEST_WATER:
            return "none"
    return ""


def dry(route: Route) -> None:
    """The drying step, and the cooling down that every warm drum ends with."""
    severity, reading = route.tally.severity, route.reading
    heat = TUMBLES[severity[TUMBLE]]
    air_named = reading.states("natural_dry") and not reading.states("tumble_dry")
    tumble = (
        heat != "none"
        and route.process.name == "machine_wash"
        and not severity[DRIP]
        and SPINS[severity[SPIN]] != "none"
        and not air_named
    )
    damp = damp_for_press(route)
    if tumble:
        text = {
            "normal": _("Tumble dry, lint screen clean."),
            "low": _("Tumble low, lint screen clean."),
            "no_heat": _("Tumble without heat, lint screen clean."),
        }[heat]
        route.add(
            "dry",
            " ".join([text, *([_("Take it out damp.")] if damp else [])]),
            route.why(TUMBLE) | {"route.dry", "fire.lint"},
            {"method": "tumble", "tumble": heat},
        )
        route.add(
            "cool_down",
            _("Cool and shake it out.") if damp else _("Cool before folding."),
            ("fire.no_cooldown", "bag.warm"),
            {"target_c": 40},
        )
        return
    hang = not severity[HANG]
    bathed = route.process.name in WATER
    drip = severity[DRIP] > 0 or (bathed and spin_of(route) == "none")
    shade = severity[SHADE] > 0
    said = [_("Hang to dry") if hang else _("Dry flat")]
    said += [_("dripping wet, never wrung")] if drip else []
    said += [_("in shade")] if shade else []
    said += [_("take it down damp")] if damp else []
    eased = shrinking(route.materials.known, route.gather.tables) if bathed else []
    eased = [row for row in eased if row.cells["does"]]
    said += [row.cells["does"] for row in eased]
    says = ", ".join(said) + "."
    keys = route.why(HANG, DRIP, SHADE, TUMBLE) | {"route.dry", *(row.key for row in eased)}
    settings: Settings = {
        "method": "hang" if hang else "flat",
        "tumble": "none",
        "drip": drip,
        "shade": shade,
    }
    if bathed and (rows := rows_about("drying", route.materials.known, route.gather.tables)):
        grams = int(route.gather.tables["kinds"][route.facts.kind].cells["grams"])
        # Hands press out about what a short spin takes.
        spin = "none" if drip else "normal" if spin_of(route) == "normal" else "reduced"
        hours = math.ceil(hours_to_dry(water_to_lose(rows[0], grams, spin), lying=not hang))
        settings["hours"] = hours
        keys.add(rows[0].key)
        if hours > _TOO_LONG:
            slow = _("It takes {hours} hours; move the air.", hours=hours)
            says = f"{says} {slow}"
    route.add("dry", says, keys, settings)
