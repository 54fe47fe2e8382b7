"""What care decisions and the rules behind them are called on pages; limits are said by
``care_rules.wording``."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from care_rules import Rule
from care_rules.heat import HeatBound, HeatSpan
from care_rules.provenance import Provenance
from care_rules.texts import in_words
from care_rules.wording import degrees, limit_name, value_words

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
STRENGTH_NAMES = {
    "physical": gettext_lazy("firm"),
    "usual": gettext_lazy("careful"),
    "common": gettext_lazy("habit"),
    "default": gettext_lazy("unless labelled"),
}
"""What stands beside a limit; ``STRENGTH_WORDS`` says once what it means."""

STRENGTH_WORDS = {
    "physical": gettext_lazy("never lifted"),
    "usual": gettext_lazy("common practice; an owner may lift it up to the label"),
    "common": gettext_lazy("gives way to the label's own symbol"),
    "default": gettext_lazy("holds while the label says nothing about it"),
}
STATUS_WORDS = {
    "read": gettext_lazy("read in the source"),
    "practice": gettext_lazy("common practice, no published source"),
    "memory": gettext_lazy("from memory: the source is still to be checked"),
    "partly": gettext_lazy("partly read in the source"),
}
_STATUS_SHORT = {
    "read": gettext_lazy("read"),
    "practice": gettext_lazy("common practice"),
    "memory": gettext_lazy("from memory"),
}
TABLE_WORDS = {
    "symbols": gettext_lazy("label symbol"),
    "ceilings": gettext_lazy("label"),
    "readings": gettext_lazy("label symbol"),
    "terms": gettext_lazy("words on the label"),
    "label_rules": gettext_lazy("label"),
    "composition_rules": gettext_lazy("fibres on the label"),
    "combinations": gettext_lazy("cloth and work together"),
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
    "detergents": gettext_lazy("detergent"),
    "baths": gettext_lazy("wash bath"),
    "drying": gettext_lazy("drying"),
    "pressing": gettext_lazy("pressing"),
    "shrinkage": gettext_lazy("shrinkage"),
    "finishes": gettext_lazy("finish"),
    "solvents": gettext_lazy("solvent"),
    "fastness": gettext_lazy("colour test"),
    "house": gettext_lazy("house rule"),
}

# The care book

BOOK_GROUPS = {
    "fibres": gettext_lazy("Fibres"),
    "symbols": gettext_lazy("Label symbols"),
    "terms": gettext_lazy("Words on labels"),
    "trims": gettext_lazy("Trims and special cloth"),
    "stains": gettext_lazy("Stains"),
    "hazards": gettext_lazy("Hazards"),
    "colours": gettext_lazy("Colours"),
    "constructions": gettext_lazy("How cloth is made"),
    "damage": gettext_lazy("Damage"),
    "kinds": gettext_lazy("Kinds of piece"),
    "behaviours": gettext_lazy("How cloth behaves"),
}
BOOK_DETAILS = {
    "eu_name": gettext_lazy("Name on EU labels"),
    "us_name": gettext_lazy("Name on US labels"),
    "code": gettext_lazy("Code"),
    "family": gettext_lazy("Family"),
    "shrink": gettext_lazy("Shrinks"),
    "crease": gettext_lazy("Creases"),
    "lint": gettext_lazy("Lint"),
    "wet_strength": gettext_lazy("Strength wet, against dry"),
    "regain_percent": gettext_lazy("Moisture allowance, %"),
    "softens_c": gettext_lazy("Softens from, °C"),
    "class": gettext_lazy("Class"),
    "first_aid": gettext_lazy("First aid"),
    "never_says": gettext_lazy("Never use"),
    "fibre_says": gettext_lazy("On some fibres"),
    "trigger": gettext_lazy("What to look for"),
    "do": gettext_lazy("What to do"),
    "defer_to": gettext_lazy("Who decides"),
    "fix": gettext_lazy("Before cleaning"),
    "note": gettext_lazy("For the crew"),
    "grams": gettext_lazy("Usual weight, grams"),
    "astm": gettext_lazy("Drawn in the US as"),
    "jis": gettext_lazy("Japanese number"),
    "by": gettext_lazy("Shrinks by"),
    "does": gettext_lazy("What is done"),
    "cloth": gettext_lazy("Cloth between"),
    "pad": gettext_lazy("Pad"),
    "steam": gettext_lazy("Steam"),
    "vacuum": gettext_lazy("Vacuum"),
    "removed_by": gettext_lazy("Taken off by"),
    "restored_by": gettext_lazy("Brought back by"),
    "washes": gettext_lazy("Tested for so many washes"),
    "warm_says": gettext_lazy("For home"),
    "letter": gettext_lazy("Letter on labels"),
    "kb": gettext_lazy("Strength, kauri-butanol"),
    "boils_c": gettext_lazy("Boils from, °C"),
    "flash_c": gettext_lazy("Burns from, °C"),
    "gentle_out_c": gettext_lazy("Gentle drying, °C at most"),
}
"""Columns that say something to staff; limits, source and status have places of their own."""

_PARTS = {
    "limits": gettext_lazy("Limits"),
    "name": gettext_lazy("Name"),
    "says": gettext_lazy("What it says"),
    "geometry": gettext_lazy("Drawing"),
    "symbols": gettext_lazy("Its symbols"),
    "notes": gettext_lazy("Notes for the crew"),
    "start": gettext_lazy("First step"),
    "agents": gettext_lazy("Agents"),
    "words": gettext_lazy("Words"),
}
"""Other columns that a row's status may name; an item in them stands behind a full stop."""

BOOK_NOTES = {
    "remove": gettext_lazy("Take it off before cleaning and put it back after."),
    "lifts": gettext_lazy("Once it is off, its limits fall away."),
    "test": gettext_lazy("Test on a hidden place first."),
    "wet_check": gettext_lazy("Look at the wet piece before any heat."),
    "heat_sets": gettext_lazy("Heat sets it: look before drying or ironing."),
    "professional": gettext_lazy("For a trained spotter; it may stay."),
    "felts": gettext_lazy("Felts in warm, moving water; felting cannot be undone."),
    "air": gettext_lazy("Airs well: often it needs no washing."),
    "shrinks": gettext_lazy("May still shrink: wash before cutting."),
    "flammable": gettext_lazy("Flammable."),
    "enzymes_harm": gettext_lazy("Enzymes harm it."),
    "damp": gettext_lazy("Pressed damp."),
}
"""What a column says where its row is marked with it."""


BOOK_FIGURES = {
    "detergent": gettext_lazy("Detergent"),
    "ph": gettext_lazy("pH of the bath"),
    "shrinks_by": gettext_lazy("Shrinks by, per cent"),
    "water_left": gettext_lazy("Water left in 100 g"),
    "hours": gettext_lazy("Hours for 250 g"),
    "never_in": gettext_lazy("Must not meet"),
}
"""Figures of how cloth behaves that are made of several columns."""


def from_to(lowest: str, highest: str) -> str:
    return _("%(lowest)s to %(highest)s") % {"lowest": lowest, "highest": highest}


def water_words(normal: str, reduced: str, none: str) -> str:
    """The grams of water in a hundred grams of cloth after each spin."""
    return _("%(normal)s after a full spin, %(reduced)s after a short one, %(none)s unspun") % {
        "normal": normal,
        "reduced": reduced,
        "none": none,
    }


def room_words(hours: int, heat: str, humidity: int) -> str:
    """How long something dries in a room."""
    return _("%(hours)d at %(heat)s and %(humidity)d %%") % {
        "hours": hours,
        "heat": heat,
        "humidity": humidity,
    }


# A decision


def out_of_question(treatments: Iterable[str]) -> str:
    """The treatments that are out of the question, by their names."""
    names = ", ".join(name[:1].lower() + name[1:] for name in treatments)
    return _("Never: %(treatments)s") % {"treatments": names}


# Where a rule comes from


def provenance_words(provenance: Provenance) -> str:
    """What of a rule was read, is practice or from memory, in one phrase."""
    if not provenance.parts:
        return str(STATUS_WORDS[provenance.rest])
    clauses = [
        f"{_STATUS_SHORT[status]}: {', '.join(map(_part_words, parts))}"
        for status, parts in provenance.parts
    ]
    rest = _("the rest %(status)s") % {"status": _STATUS_SHORT[provenance.rest]}
    return "; ".join([*clauses, rest])


def _part_words(part: str) -> str:
    column, _stop, item = part.partition(".")
    if item:
        return _limit_words(item) if column == "limits" else item.replace("_", " ")
    title = BOOK_DETAILS.get(column) or _PARTS.get(column) or in_words(column)
    return str(title).partition(",")[0]


def _limit_words(item: str) -> str:
    """A limit by its path, with its value where the status names it as it stands."""
    path, _equals, value = item.partition("=")
    value, _at, _strength = value.partition("@")
    return f"{limit_name(path)} {value_words(path, value)}" if value else limit_name(path)


def limits_status(rule: Rule) -> str:
    """How sure the limits of a rule are, where its cells differ."""
    statuses = {
        rule.provenance.of("limits", f"{path}={value}@{strength}", path)
        for path, value, strength in rule.limits
    }
    return str(STATUS_WORDS[statuses.pop() if len(statuses) == 1 else rule.status])


# The drawing of a decision's limits


def mark_words(limit: str, set_aside: bool, decides: bool) -> str:
    """A limit on its scale, and whether it is the one that binds."""
    if set_aside:
        return _("%(limit)s, set aside") % {"limit": limit}
    return _("%(limit)s, decides") % {"limit": limit} if decides else limit


# Ceiling and floor

HEAT_TITLES = {"wash.max_c": gettext_lazy("Water"), "iron.max_c": gettext_lazy("Iron")}
HEAT_STANDINGS = {
    "decides": gettext_lazy("decides"),
    "allows_more": gettext_lazy("allows more"),
    "set_aside": gettext_lazy("set aside"),
    "met": gettext_lazy("met"),
    "unmet": gettext_lazy("not met"),
    "until_out": gettext_lazy("first bath only"),
}


def heat_words(bound: HeatBound, side: str, fahrenheit: bool) -> str:
    """What a rule says on a scale of heat; ``side`` is the field of ``HeatSpan`` it stands in."""
    heat = {"heat": degrees(bound.degrees, fahrenheit)}
    if side == "floors":
        return _("at least %(heat)s") % heat
    if not bound.degrees:
        return _("never")
    return _("at most %(heat)s") % heat


def stop_words(degrees_c: int) -> str:
    """A figure under a scale of heat, where 0 is never."""
    return str(degrees_c) if degrees_c else _("never")


def heat_finding(span: HeatSpan, fahrenheit: bool) -> str:
    """What a scale of heat comes to, in one short sentence."""
    lowest = degrees(span.lowest, fahrenheit) if span.lowest else ""
    highest = degrees(span.highest, fahrenheit)
    if not span.highest:
        never = _("Never in water") if span.path == "wash.max_c" else _("Never with an iron")
        return (
            _("%(never)s, and %(lowest)s is needed.") % {"never": never, "lowest": lowest}
            if lowest
            else f"{never}."
        )
    if span.lowest is None:
        return _("At most %(highest)s; nothing asks for more.") % {"highest": highest}
    if span.lowest > span.highest:
        return _("No room: %(lowest)s needed, %(highest)s allowed.") % {
            "lowest": lowest,
            "highest": highest,
        }
    return _("From %(lowest)s to %(highest)s.") % {"lowest": lowest, "highest": highest}


def bound_words(name: str, limit: str, standing: str) -> str:
    """One rule of a scale, for who hears it."""
    return _("%(name)s: %(limit)s, %(standing)s.") % {
        "name": name,
        "limit": limit,
        "standing": standing,
    }


def told_at_opening() -> str:
    """The reason that is kept where the owner lifts a limit by opening the ticket."""
    return _("told by the owner when the ticket was opened")


# The house's own rules


def rule_binds(name: str) -> str:
    return _("“%(name)s” binds from now on.") % {"name": name}


def rule_binds_no_more(name: str) -> str:
    return _("“%(name)s” binds no more.") % {"name": name}
