"""The plan of the day in words: its title, what is done in a stretch, and why a piece is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.choices import Station
from tickets.plan.values import (
    AWAY,
    EMPTY,
    FILL,
    HELD,
    MATCH,
    NEVER,
    NO_PLACE,
    NO_TIME,
    NOBODY,
    RUN,
    SIBLING,
    Block,
    Lane,
    Left,
)
from tickets.tracking.wording import in_short
from tickets.wording import promise_words, step_name


def clock(at: datetime) -> str:
    return date_format(timezone.localtime(at), "H:i")


def plan_title(is_today: bool) -> str:
    return _("Today's plan") if is_today else _("Plan of the day")


def late_word() -> str:
    """In the place of the hour of a promise that is over."""
    return _("Late")


def day_words(day: date) -> str:
    return date_format(day, "l j F")


def hour_words(hour: datetime, is_now: bool) -> str:
    """What an hour of the plan is headed with; the present one is said to be so."""
    span = f"{clock(hour)}–{clock(hour + timedelta(hours=1))}"
    return _("Now, %(hour)s") % {"hour": span} if is_now else span


def from_words(begins: datetime) -> str:
    return _("From %(clock)s on") % {"clock": clock(begins)}


def stretch_count(pieces: int) -> str:
    return ngettext("%(n)d piece", "%(n)d pieces", pieces) % {"n": pieces}


def lane_name(lane: Lane, beside: Sequence[Lane]) -> str:
    """What a row is called among those of its station; empty where there is no other."""
    if lane.machine:
        return lane.machine
    if lane.of > 1:
        return _("person %(n)d") % {"n": lane.number}
    return _("crew") if any(other.machine for other in beside) else ""


def work_words(blocks: Sequence[Block], programmes: Mapping[tuple[str, str], str]) -> str:
    """What is done in the blocks of one stretch; ``programmes``: words by machine and key."""
    first = blocks[0]
    if first.kind == FILL:
        return _("Fill %(machine)s") % {"machine": first.machine}
    if first.kind == EMPTY:
        return _("Empty, load %(load)d") % {"load": first.load}
    if first.kind == MATCH:
        return _("Match and rack")
    if first.kind == RUN:
        name = programmes.get((first.lane.machine, first.detail), "")
        load = _("load %(load)d") % {"load": first.load} if first.load else ""
        return ", ".join(filter(None, [name, load])) or _("Run")
    steps = dict.fromkeys(name for block in blocks for name in block.names)
    return ", ".join(step_name(step) for step in steps)


def until_words(until: datetime, now: datetime) -> str:
    """When a piece that is left goes on."""
    return _("until %(when)s") % {"when": promise_words(until, now)}


def left_words(left: Left) -> str:
    """Why the day does not finish a piece."""
    if left.reason == HELD:
        return _("On hold: %(reason)s") % {"reason": in_short(left.words)}
    if left.reason == NEVER:
        return left.words
    if left.reason == SIBLING:
        return _("Done, and waits for the other pieces of its ticket.")
    if left.reason == AWAY:
        return {
            Station.DRY.value: _("Not dry before closing."),
            Station.SEND_OUT.value: _("With the partner."),
        }.get(left.words, _("In the machine until after closing."))
    if left.reason == NO_PLACE:
        return _("No drying place is free before closing.")
    if left.reason == NOBODY:
        return _("Nobody works at %(station)s on this day.") % {
            "station": Station(left.station).label
        }
    assert left.reason == NO_TIME  # the only one that is left
    if left.station == Station.DRY:
        return _("No time before closing at Dry: hang it up meanwhile, wet cloth must not lie.")
    return _("No time before closing at %(station)s.") % {"station": Station(left.station).label}
