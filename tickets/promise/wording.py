"""Promises and ways out in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.choices import Station
from tickets.promise.engine import Forecast
from tickets.shop.calendar import business_day

_NAMED_LATE = 3
_WORTH_SAYING = timedelta(hours=1)
"""A line before a ticket is named from this length on."""

# What a promise hangs on


def promise_reason(forecast: Forecast, now: datetime, begins: datetime) -> str:
    """What a promise made now hangs on; ``begins``: from when it counts."""
    reason = _hangs_on(forecast, now)
    return f"{_cut_off(begins)} {reason}".strip() if begins > now else reason


def _cut_off(begins: datetime) -> str:
    day = date_format(timezone.localtime(begins), "l j F")
    return _("Work of the day is closed; it counts from %(day)s.") % {"day": day}


def _hangs_on(forecast: Forecast, now: datetime) -> str:
    if not forecast.hangs_on:
        return ""
    station = Station(forecast.hangs_on).label
    if forecast.hangs_on == Station.SEND_OUT and forecast.back is not None:
        return _("Most of the time goes to: %(station)s, back from the partner on %(day)s.") % {
            "station": station,
            "day": _day_words(forecast.back, now),
        }
    if forecast.full_until is None or forecast.full_until - now < _WORTH_SAYING:
        return _("Most of the time goes to: %(station)s.") % {"station": station}
    today = business_day(forecast.full_until) == business_day(now)
    until = date_format(timezone.localtime(forecast.full_until), "H:i" if today else "l j F")
    return _("Full until %(until)s: %(station)s.") % {"until": until, "station": station}


def _day_words(at: datetime, now: datetime) -> str:
    """The weekday, with the date where another such day comes before it."""
    near = business_day(at) - business_day(now) < timedelta(days=7)
    return date_format(timezone.localtime(at), "l" if near else "l j F")


# What brings a late ticket back


def answer() -> str:
    return _("Answer the question")


def carry() -> str:
    return _("Carry by hand")


def carry_and_longer(closes: datetime) -> str:
    return _("Carry, open until %(until)s") % {"until": _clock(closes)}


def one_more(station: str, opens: datetime, now: datetime) -> str:
    says = _("One more at %(station)s") % {"station": Station(station).label}
    return _on_day(says, opens, now)


def longer_evening(opens: datetime, closes: datetime, now: datetime) -> str:
    return _on_day(_("Open until %(until)s") % {"until": _clock(closes)}, opens, now)


def late_for_it(late: Sequence[int]) -> str:
    """Which tickets a way out makes late; the first are named, the rest counted."""
    if not late:
        return ""
    named = ", ".join(map(str, late[:_NAMED_LATE]))
    if (more := len(late) - _NAMED_LATE) > 0:
        named += ngettext(" and %(n)d more", " and %(n)d more", more) % {"n": more}
    return _("late for it: %(tickets)s") % {"tickets": named}


def _on_day(says: str, opens: datetime, now: datetime) -> str:
    """With the weekday where it is not today's."""
    if business_day(opens) == business_day(now):
        return says
    day = date_format(timezone.localtime(opens), "l")
    return _("%(what)s on %(day)s") % {"what": says, "day": day}


def _clock(at: datetime) -> str:
    return date_format(timezone.localtime(at), "H:i")
