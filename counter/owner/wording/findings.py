"""What the owner's day finds, in one short sentence each, and what waits for the owner."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.owner.rate import Rate
from counter.owner.wording import percent_words, span_words
from tickets.choices import Station
from tickets.models import Hold
from tickets.promise.expected import Expected
from tickets.promise.jam import StationLoad
from tickets.tracking.wording import in_short

# Promises


def promises_found(kept: int, coming: int, at_risk: int, missed: int) -> str:
    """How the promises of a day stand; their share only when nothing is to come."""
    rate = Rate(kept, kept + missed)
    if not coming and rate.percent is not None:
        return _("%(kept)d of %(due)d kept, %(percent)s") % {
            "kept": kept,
            "due": rate.whole,
            "percent": percent_words(rate.percent, 0),
        }
    if not coming:
        return _("None falls due")
    risk = _("all at risk") if at_risk == coming else _("%(n)d of them at risk")
    words = [
        _("%(n)d kept") % {"n": kept} if kept else "",
        _("%(n)d missed") % {"n": missed} if missed else "",
        _("%(n)d to come") % {"n": coming},
        risk % {"n": at_risk} if at_risk else "",
    ]
    return ", ".join(filter(None, words))


def stack_words(missed: bool, promises: int, of: int) -> str:
    """How many promises of one hour are missed, or else at risk; ``of``: all of the hour, where
    some of them are not drawn."""
    if of > promises:
        said = _("%(n)d of %(all)d missed") if missed else _("%(n)d of %(all)d at risk")
        return said % {"n": promises, "all": of}
    return (_("%(n)d missed") if missed else _("%(n)d at risk")) % {"n": promises}


def clock_words(at: datetime) -> str:
    return date_format(timezone.localtime(at), "H:i")


def past_day(at: datetime) -> str:
    """A day before today, short: ``Tue 24``."""
    return date_format(timezone.localtime(at), "D j")


def kept_words(kept: int) -> str:
    return _("%(n)d kept") % {"n": kept}


def more_words(more: int) -> str:
    return _("and %(n)d more") % {"n": more}


# Work waiting


def waiting_title(against: date, today: date) -> str:
    if against == today:
        return _("Waiting work, hours left today")
    return _("Waiting work, %(day)s's hours") % {"day": date_format(against, "l")}


def waiting_found(station: Station | None, over: float = 0) -> str:
    """``over``: crew minutes that the fullest station has too much; no station: none has."""
    if station is None:
        return _("Each station can do what waits")
    return _("%(station)s has %(time)s more than it can do") % {
        "station": station.label,
        "time": short_time(over),
    }


def carried_found(jammed: Iterable[StationLoad], day: date) -> str:
    """What a day to come can not do of the work that today leaves over; the fullest station."""
    name = date_format(day, "l")
    loads = list(jammed)
    if not loads:
        return _("%(day)s can do what today leaves over") % {"day": name}
    load = max(loads, key=lambda load: load.carried - load.tomorrow)
    words = {"station": load.station.label, "day": name}
    over = load.carried - load.tomorrow
    if over > 0:
        return _("%(station)s: %(time)s more than %(day)s can do") % {
            **words,
            "time": short_time(over),
        }
    if load.no_place:
        return _("%(station)s: no drying place free by %(day)s evening") % words
    assert load.percent is not None  # else nobody works there, and all of it is over
    return _("%(station)s: %(day)s is %(percent)s full") % {
        **words,
        "percent": percent_words(load.percent, 0),
    }


def short_time(minutes: float) -> str:
    """``42 min``, ``3 h``, ``2 h 42``."""
    whole = round(minutes)
    if whole >= 60 and whole % 60:
        return _("%(hours)d h %(minutes)02d") % {"hours": whole // 60, "minutes": whole % 60}
    return span_words(timedelta(minutes=whole)) if whole < 1440 else f"{whole // 60} h"


# Weeks and takings


def weeks_found(first: date, finished: int, on_time: float | None, is_last: bool) -> str:
    """Of a whole week; ``is_last``: the one before the present, else it is named by its Monday."""
    pieces = ngettext("%(n)d piece", "%(n)d pieces", finished) % {"n": finished}
    named = _("Week of %(day)s") % {"day": date_format(first, "j M")}
    words = {"week": _("Last week") if is_last else named, "pieces": pieces}
    if on_time is None:
        return _("%(week)s %(pieces)s") % words
    return _("%(week)s %(pieces)s, %(percent)s on time") % {
        **words,
        "percent": percent_words(on_time, 0),
    }


# To settle


def late_by(time: timedelta) -> str:
    """How long a promise is past, in its greatest unit."""
    if time >= timedelta(days=1):
        return ngettext("%(n)d day", "%(n)d days", time.days) % {"n": time.days}
    hours, minutes = divmod(int(time.total_seconds() // 60), 60)
    return _("%(n)d h") % {"n": hours} if hours else _("%(n)d min") % {"n": minutes}


def hindrance(expected: Expected | None) -> str:
    """What holds a ticket up, in few words."""
    if expected is None:
        return ""
    if expected.hold is not None:
        return in_short(expected.hold.reason)
    if expected.holds_up in Station.values:
        return str(Station(expected.holds_up).label)
    return _("to be racked")


def due_words(at: datetime, now: datetime) -> str:
    """The hour of today; of another day its name."""
    local = timezone.localtime(at)
    same_day = local.date() == timezone.localtime(now).date()
    return date_format(local, "H:i" if same_day else "D j M")


def more_late(more: int) -> str:
    return ngettext("%(n)d more late", "%(n)d more late", more) % {"n": more}


def more_at_risk(more: int) -> str:
    return ngettext("%(n)d more at risk", "%(n)d more at risk", more) % {"n": more}


def holds_words(holds: int) -> str:
    return ngettext("%(n)d piece on hold", "%(n)d pieces on hold", holds) % {"n": holds}


def first_question(hold: Hold) -> str:
    return _("first: %(reason)s") % {"reason": in_short(hold.reason)}


def to_ask(holds: int) -> str:
    return _("%(n)d to ask") % {"n": holds} if holds else ""


def tickets_words(tickets: int) -> str:
    return ngettext("%(n)d ticket", "%(n)d tickets", tickets) % {"n": tickets}


def not_paid() -> str:
    return _("done, not paid")


def messages_words(messages: int) -> str:
    return ngettext("%(n)d message", "%(n)d messages", messages) % {"n": messages}


def not_sent() -> str:
    return _("not sent yet")
