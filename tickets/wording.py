"""Decisions in plain words for screens and tags: limits, settings, reasons, names and moments.

The sentences of the limits are those of ``care_rules.wording``; here they meet the stations.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cache

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from care_rules import Caution, Component, Decision, Facts, Label, Settings, catalogue
from care_rules.speech import each_language
from care_rules.wording import action_word, crew_lines, degrees
from tickets import house_book
from tickets.choices import Station
from tickets.models import Customer

LEVELS = ("refuse", "hold", "caution", "info")
_LONGEST_REASON = 150


LEVEL_WORDS = {
    "info": gettext_lazy("Note"),
    "caution": gettext_lazy("Caution"),
    "hold": gettext_lazy("Customer must agree"),
    "refuse": gettext_lazy("Refused"),
}
LEVEL_SHAPES = {"info": "info", "caution": "bang", "hold": "pause", "refuse": "stop"}
URGENCY_WORDS = {
    "late": gettext_lazy("Late"),
    "risk": gettext_lazy("At risk"),
    "due": gettext_lazy("Due"),
    "done": gettext_lazy("Done"),
}
URGENCY_LOOKS = {
    "late": ("late", "bang"),
    "risk": ("risk", "clock"),
    "due": ("", "dot"),
    "done": ("ready", "tick"),
}
"""Colour and drawn shape of each."""
STEP_NAMES = {
    "check": gettext_lazy("Check"),
    "remove_trim": gettext_lazy("Take off trims"),
    "stabilise": gettext_lazy("Make safe"),
    "test": gettext_lazy("Test"),
    "pre_spot": gettext_lazy("Spot"),
    "wash": gettext_lazy("Clean"),
    "rinse": gettext_lazy("Rinse"),
    "wet_check": gettext_lazy("Wet check"),
    "dry": gettext_lazy("Dry"),
    "cool_down": gettext_lazy("Cool down"),
    "unpick": gettext_lazy("Unpick"),
    "mend": gettext_lazy("Mend or alter"),
    "press": gettext_lazy("Press"),
    "inspect": gettext_lazy("Inspect"),
    "assemble": gettext_lazy("Assemble"),
    "send_out": gettext_lazy("Send out"),
}

SERVICE_NAMES = {
    "clean": gettext_lazy("Clean"),
    "press": gettext_lazy("Press"),
    "mend": gettext_lazy("Mend"),
    "alter": gettext_lazy("Alter"),
}

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
    """One order about a limit, with the rules that gave it. See ``care_rules.wording.CrewLine``."""

    path: str
    says: str
    closed: bool
    why: tuple[str, ...] = ()


@dataclass(frozen=True)
class StepSetting:
    """One setting of a step in words; ``figure`` marks temperatures, which stand large."""

    says: str
    figure: bool = False


_STATIONS_OF = {
    "wash": (Station.WASH, Station.SPOTTING),
    "bleach": (Station.WASH, Station.SPOTTING),
    "tumble": (Station.DRY,),
    "air_dry": (Station.DRY,),
    "iron": (Station.PRESS, Station.BENCH),
    "dry_clean": (Station.SEND_OUT,),
    "wet_clean": (Station.SEND_OUT,),
}
"""Treatment -> the stations where it can go wrong."""


def limit_lines(
    decision: Decision, station: str = "", *, fahrenheit: bool = False
) -> list[LimitLine]:
    """What a piece must not get, closed treatments first.

    With a station, only what can go wrong there. Reasons come from the rules that set the limit.
    """
    lines = [
        LimitLine(line.path, line.says, line.closed, reasons(decision.because.get(line.path, ())))
        for line in crew_lines(decision.limits, fahrenheit=fahrenheit)
        if not station or station in _STATIONS_OF[line.path.partition(".")[0]]
    ]
    return sorted(lines, key=lambda line: not line.closed)


def setting_words(settings: Settings, *, fahrenheit: bool = False) -> list[StepSetting]:
    """What to set on a machine or iron, the temperature first. Other settings stay unsaid here:
    the sentence of the step names them."""
    said: list[StepSetting] = []
    if "max_c" in settings:
        heat = degrees(settings["max_c"], fahrenheit)
        says = _("at most %(heat)s") % {"heat": heat} if settings["max_c"] else _("no heat")
        said.append(StepSetting(says, figure=True))
    if "action" in settings:
        said.append(StepSetting(f"{_('action')}: {action_word(settings['action'])}"))
    if "spin" in settings:
        said.append(StepSetting(f"{_('spin')}: {action_word(settings['spin'])}"))
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
            said.append(StepSetting(words[key, value]))
    return said


def wish_words(customer: Customer) -> list[str]:
    """What a customer does not want in the bath."""
    words = []
    if customer.fragrance_free:
        words.append(_("no fragrance"))
    if customer.no_softener or customer.fragrance_free:
        words.append(_("no softener"))
    return words


def cautions(decision: Decision, least: str = "caution") -> list[Caution]:
    """Cautions of a decision from ``least`` up, the gravest first."""
    wanted = LEVELS[: LEVELS.index(least) + 1]
    warned = [caution for caution in decision.cautions if caution.level in wanted]
    return sorted(warned, key=lambda caution: LEVELS.index(caution.level))


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


def look_of(description: str, kind: str) -> str:
    """What a description adds to the kind that stands before it.

    >>> look_of("bath towel", "bath towel"), look_of("grey cardigan, loose button", "cardigan")
    ('', 'grey, loose button')
    """
    said = set(kind.casefold().split())
    looks = []
    for clause in description.split(","):
        words = clause.split()
        while words and words[-1].casefold() in said:
            words.pop()
        looks.append(" ".join(words))
    return ", ".join(filter(None, looks))


def told_at_intake(facts: Facts) -> list[tuple[str, str]]:
    """The facts of a piece as label and words, in the order of the intake; empty ones left out."""
    rows = [
        (_("Cloth"), "; ".join(map(_part_words, facts.components))),
        (_("Make"), name_in("constructions", facts.construction)),
        (_("Colour"), name_in("colours", facts.colour)),
        (_("Label"), _label_words(facts.label)),
        (_("Trims"), _listed("trims", facts.trims)),
        (_("Stains"), ", ".join(stain_names(facts))),
        (_("Damage"), _listed("damage", facts.damage)),
        (_("Hazards"), _listed("hazards", facts.hazards)),
        (_("Work"), _listed("work", facts.work)),
    ]
    return [(name, words) for name, words in rows if words]


def _part_words(part: Component) -> str:
    fibres = [
        name_in("fibres", share.fibre)
        if share.percent is None
        else f"{share.percent:g} % {name_in('fibres', share.fibre)}"
        for share in part.fibres
    ]
    name = PART_NAMES.get(part.part, part.part)
    return f"{name}: {', '.join(fibres) or _('fibres not known')}"


def _label_words(label: Label) -> str:
    state = {
        "unreadable": _("unreadable"),
        "missing": _("none on the piece"),
        "not_needed": _("none, and none needed"),
    }.get(label.state, "")
    return state or ", ".join(label.terms)


def _listed(group: str, keys: Iterable[str]) -> str:
    return ", ".join(name_in(group, key) for key in keys)


def stain_names(facts: Facts) -> list[str]:
    """The stains told at intake."""
    return [name_in("stains", stain) for stain in facts.stains]


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


def shown_moment(moment: datetime) -> str:
    """A moment in shop time as staff say it: ``Tue 4 Mar, 14:00``."""
    return date_format(timezone.localtime(moment), "D j M, H:i")


def step_name(key: str) -> str:
    """What the crew calls a step of a route."""
    return str(STEP_NAMES.get(key, key))


def service_name(key: str) -> str:
    """What staff call a kind of work asked for at intake."""
    return str(SERVICE_NAMES.get(key, key))
