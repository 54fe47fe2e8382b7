"""Decisions in plain words for screens and tags: limits, settings, reasons, names and moments.

Temperatures stand in degrees Celsius; where the shop asks, Fahrenheit stands beside them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from care_rules import catalogue
from care_rules.speech import each_language
from tickets import house_book
from tickets.choices import Station
from tickets.models import Customer

LEVELS = ("refuse", "hold", "caution", "info")
_LONGEST_REASON = 150
LOW_WASH_C, LOW_IRON_C = 40, 150
"""At or below these a temperature is worth saying at the machine: common practice, no source."""


PART_NAMES = {
    "shell": gettext_lazy("Outside"),
    "lining": gettext_lazy("Lining"),
    "filling": gettext_lazy("Filling"),
    "coating": gettext_lazy("Coating"),
    "trim": gettext_lazy("Trim"),
    "other": gettext_lazy("Other part"),
}


@dataclass(frozen=True)
class LimitLine:
    """One limit: ``closed`` is a treatment never given, else a bound that is tighter than usual."""

    path: str
    says: str
    closed: bool
    why: tuple[str, ...] = ()


@dataclass(frozen=True)
class Setting:
    """One setting of a step in words; ``figure`` marks temperatures, which stand large."""

    says: str
    figure: bool = False


def degrees(celsius: float, fahrenheit: bool) -> str:
    """``30 °C``, or ``30 °C / 86 °F`` where the shop asks for both."""
    shown = f"{celsius:g} °C"
    return f"{shown} / {round(celsius * 9 / 5 + 32)} °F" if fahrenheit else shown


def action_word(action: str) -> str:
    return {
        "normal": _("normal"),
        "mild": _("mild"),
        "very_mild": _("very mild"),
    }.get(action, action.replace("_", " "))


def limit_lines(
    decision: Mapping[str, Any], station: str = "", *, fahrenheit: bool = False
) -> list[LimitLine]:
    """What a piece must not get, closed treatments first.

    With a station, only what can go wrong there. Reasons come from the rules that set the limit.
    """
    because = decision.get("because", {})
    lines = [
        LimitLine(path, says, closed, reasons(because.get(path, ())))
        for path, says, closed, stations in _limits(decision["limits"], fahrenheit)
        if not station or station in stations
    ]
    return sorted(lines, key=lambda line: not line.closed)


def _limits(
    limits: Mapping[str, Any], fahrenheit: bool
) -> Iterable[tuple[str, str, bool, tuple[str, ...]]]:
    """Path, sentence, whether it is closed, and the stations that need to know."""
    wet = (Station.WASH, Station.SPOTTING)
    yield from _wash(limits["wash"], fahrenheit, wet)
    if limits["bleach"] == "none":
        yield "bleach", _("Never bleach, of any kind"), True, wet
    elif limits["bleach"] == "oxygen":
        yield "bleach", _("No chlorine bleach; oxygen only"), True, wet
    yield from _drying(limits, (Station.DRY,))
    yield from _iron(limits["iron"], fahrenheit, (Station.PRESS, Station.BENCH))
    yield from _professional(limits, (Station.SEND_OUT,))


def _wash(
    wash: Mapping[str, Any], fahrenheit: bool, at: tuple[str, ...]
) -> Iterable[tuple[str, str, bool, tuple[str, ...]]]:
    if not wash["allowed"]:
        yield "wash.allowed", _("Never wash in water"), True, at
        return
    if wash["max_c"] <= LOW_WASH_C:
        says = _("Water never above %(heat)s") % {"heat": degrees(wash["max_c"], fahrenheit)}
        yield "wash.max_c", says, False, at
    if wash["hand_only"]:
        yield "wash.hand_only", _("Never in the machine: by hand only"), True, at
    elif wash["action"] != "normal":
        says = _("Action never above %(action)s") % {"action": action_word(wash["action"])}
        yield "wash.action", says, False, at
    if wash["spin"] == "none":
        yield "wash.spin", _("Never spin or wring"), True, at
    elif wash["spin"] == "reduced":
        yield "wash.spin", _("Short, slow spin only"), False, at


def _drying(
    limits: Mapping[str, Any], at: tuple[str, ...]
) -> Iterable[tuple[str, str, bool, tuple[str, ...]]]:
    if limits["tumble"] == "none":
        yield "tumble", _("Never tumble dry"), True, at
    elif limits["tumble"] == "no_heat":
        yield "tumble", _("Tumble without heat only"), False, at
    elif limits["tumble"] == "low":
        yield "tumble", _("Tumble on low heat only"), False, at
    air = limits["air_dry"]
    if not air["hang"]:
        yield "air_dry.hang", _("Never hang while wet: lay flat"), True, at
    if air["drip"]:
        yield "air_dry.drip", _("Never spin or wring: drip dry"), True, at
    if air["shade"]:
        yield "air_dry.shade", _("Never in the sun: dry in shade"), True, at


def _iron(
    iron: Mapping[str, Any], fahrenheit: bool, at: tuple[str, ...]
) -> Iterable[tuple[str, str, bool, tuple[str, ...]]]:
    if not iron["max_c"]:
        yield "iron.max_c", _("Never iron or press"), True, at
        return
    if iron["max_c"] <= LOW_IRON_C:
        says = _("Iron never above %(heat)s") % {"heat": degrees(iron["max_c"], fahrenheit)}
        yield "iron.max_c", says, False, at
    if not iron["steam"]:
        yield "iron.steam", _("Never steam"), True, at
    if iron["reverse_side"]:
        yield "iron.reverse_side", _("Press on the reverse side only"), False, at
    if iron["press_cloth"]:
        yield "iron.press_cloth", _("Press through a cloth only"), False, at


def _professional(
    limits: Mapping[str, Any], at: tuple[str, ...]
) -> Iterable[tuple[str, str, bool, tuple[str, ...]]]:
    solvents = limits["dry_clean"]["solvents"]
    if not solvents:
        yield "dry_clean.solvents", _("Never dry-clean; no solvent"), True, at
    else:
        if "P" not in solvents:
            yield "dry_clean.solvents", _("No perchloroethylene; hydrocarbon only"), True, at
        if limits["dry_clean"]["action"] != "normal":
            says = _("Dry-clean at most %(action)s") % {
                "action": action_word(limits["dry_clean"]["action"])
            }
            yield "dry_clean.action", says, False, at
    if not limits["wet_clean"]["allowed"]:
        yield "wet_clean.allowed", _("Never professional wet cleaning"), True, at


def setting_words(settings: Mapping[str, Any], *, fahrenheit: bool = False) -> list[Setting]:
    """What to set on a machine or iron, the temperature first. Other settings stay unsaid here:
    the sentence of the step names them."""
    said: list[Setting] = []
    if "max_c" in settings:
        heat = degrees(settings["max_c"], fahrenheit)
        says = _("at most %(heat)s") % {"heat": heat} if settings["max_c"] else _("no heat")
        said.append(Setting(says, figure=True))
    for key, name in (("action", _("action")), ("spin", _("spin"))):
        if key in settings:
            said.append(Setting(f"{name}: {action_word(settings[key])}"))
    words = {
        ("method", "tumble"): _("tumble"),
        ("method", "hang"): _("on a hanger"),
        ("method", "flat"): _("flat"),
        ("tumble", "normal"): _("normal heat"),
        ("tumble", "low"): _("low heat"),
        ("tumble", "no_heat"): _("no heat"),
        ("bleach", "oxygen"): _("oxygen bleach allowed"),
        ("bleach", "none"): _("no bleach"),
        ("drip", True): _("dripping wet"),
        ("shade", True): _("in the shade"),
        ("steam", True): _("steam"),
        ("steam", False): _("no steam"),
        ("reverse_side", True): _("reverse side"),
        ("press_cloth", True): _("press cloth"),
    }
    for key, value in settings.items():
        if isinstance(value, (str, bool)) and (key, value) in words:
            said.append(Setting(words[key, value]))
    return said


def load_words(load: Mapping[str, Any]) -> list[str]:
    """How a piece goes into a machine."""
    words = []
    if load.get("alone"):
        words.append(_("alone in the machine"))
    if load.get("inside_out"):
        words.append(_("inside out"))
    if load.get("mesh_bag"):
        words.append(_("in a mesh bag"))
    if load.get("softener") is False:
        words.append(_("no softener"))
    if group := load.get("colour_group"):
        words.append(_("with %(colour)s only") % {"colour": str(group).replace("_", " ")})
    return words


def wish_words(customer: Customer) -> list[str]:
    """What a customer does not want in the bath."""
    words = []
    if customer.fragrance_free:
        words.append(_("no fragrance"))
    if customer.no_softener or customer.fragrance_free:
        words.append(_("no softener"))
    return words


def cautions(decision: Mapping[str, Any], least: str = "caution") -> list[dict[str, Any]]:
    """Cautions of a decision from ``least`` up, the gravest first."""
    wanted = LEVELS[: LEVELS.index(least) + 1]
    found = [each for each in decision.get("cautions", ()) if each["level"] in wanted]
    return sorted(found, key=lambda each: LEVELS.index(each["level"]))


def reasons(keys: Iterable[str]) -> tuple[str, ...]:
    """The rules in plain words, each once."""
    return tuple(dict.fromkeys(filter(None, map(reason, keys))))


def reason(key: str) -> str:
    """First sentence of a rule; a rule that nobody knows any more is named by its key."""
    try:
        return _short(house_book.rule(key).says)
    except KeyError:
        return key


@cache
def _short(says: str) -> str:
    first = re.split(r"(?<=[.!?])\s+(?=[A-Z])", says.strip(), maxsplit=1)[0]
    if len(first) <= _LONGEST_REASON:
        return first
    return first[:_LONGEST_REASON].rsplit(" ", 1)[0].rstrip(",;:") + " …"


@each_language
def _names() -> dict[str, dict[str, str]]:
    groups = {
        "kinds": catalogue.kinds(),
        "work": catalogue.work(),
        "fibres": catalogue.fibres(),
        "symbols": catalogue.symbols(),
        "trims": catalogue.trims(),
        "stains": catalogue.stains(),
        "damage": catalogue.damages(),
        "hazards": catalogue.hazards(),
        "colours": catalogue.colours(),
        "constructions": catalogue.constructions(),
    }
    return {group: {row.key: row.name for row in rows} for group, rows in groups.items()}


def name_in(group: str, key: str) -> str:
    """What the tables call a key; an unknown key is shown as it is."""
    return _names()[group].get(key) or key.replace("_", " ")


def kind_name(key: str) -> str:
    return name_in("kinds", key)


def told_at_intake(facts: Mapping[str, Any]) -> list[tuple[str, str]]:
    """The facts of a piece as label and words, in the order of the intake; empty ones left out."""
    label = facts.get("label", {})
    parts = [_part_words(part) for part in facts.get("components", ())]
    rows = [
        (_("Cloth"), "; ".join(parts)),
        (_("Make"), name_in("constructions", facts.get("construction", "unknown"))),
        (_("Colour"), name_in("colours", facts.get("colour", "unknown"))),
        (_("Label"), _label_words(label)),
        (_("Trims"), _listed("trims", facts.get("trims", ()))),
        (_("Stains"), ", ".join(stain_names(facts))),
        (_("Damage"), _listed("damage", facts.get("damage", ()))),
        (_("Hazards"), _listed("hazards", facts.get("hazards", ()))),
        (_("Work"), _listed("work", facts.get("work", ()))),
    ]
    return [(name, words) for name, words in rows if words]


def _part_words(part: Mapping[str, Any]) -> str:
    fibres = [
        f"{share['percent']:g} % {name_in('fibres', share['fibre'])}"
        if share.get("percent") is not None
        else name_in("fibres", share["fibre"])
        for share in part.get("fibres", ())
    ]
    name = PART_NAMES.get(part["part"], part["part"])
    return f"{name}: {', '.join(fibres) or _('fibres not known')}"


def _label_words(label: Mapping[str, Any]) -> str:
    state = {
        "unreadable": _("unreadable"),
        "missing": _("none on the piece"),
        "not_needed": _("none, and none needed"),
    }.get(label.get("state", ""), "")
    return state or ", ".join(label.get("terms", ()))


def _listed(group: str, keys: Iterable[str]) -> str:
    return ", ".join(name_in(group, key) for key in keys)


def stain_names(facts: Mapping[str, Any]) -> list[str]:
    """The stains told at intake."""
    return [
        name_in("stains", str(stain["stain"] if isinstance(stain, Mapping) else stain))
        for stain in facts.get("stains", ())
    ]


_AFTER_THE_NAME = frozenset({"ii", "iii", "iv", "jr", "jnr", "junior", "sr", "snr", "senior"})
"""Words behind a family name that tell father from son; no tag is found by them."""


def short_name(name: str) -> str:
    """A customer's name as it may hang in the open: last word whole, first as a letter.

    >>> short_name("Ada Mary Brook"), short_name("Bo Finch Jr.")
    ('Brook A.', 'Finch B.')
    """
    words = name.split()
    if len(words) > 2 and words[-1].casefold().rstrip(".") in _AFTER_THE_NAME:
        words.pop()
    if len(words) < 2:
        return name.strip()
    return f"{words[-1].rstrip(',')} {words[0][0].upper()}."


def promise_day(at: datetime) -> str:
    """``Thu 27 Nov`` in shop time."""
    return date_format(timezone.localtime(at), "D j M")


def promise_words(at: datetime, now: datetime) -> str:
    """When a promise falls due, with the day only where it is not today."""
    local, today = timezone.localtime(at), timezone.localtime(now).date()
    clock = date_format(local, "H:i")
    if local.date() == today:
        return _("today %(clock)s") % {"clock": clock}
    return f"{promise_day(at)} {clock}"
