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
from tickets.wording import promise_words

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


def if_answered(at: datetime, now: datetime) -> str:
    return _("no more than that, and it is ready %(when)s.") % {"when": promise_words(at, now)}


def carried(at: datetime, now: datetime, late: Sequence[int]) -> str:
    says = _("Carry it by hand from station to station, before everything else: %(when)s.") % {
        "when": promise_words(at, now)
    }
    return f"{says} {_late_for_it(late)}".strip()


def carried_and_longer(at: datetime, now: datetime, closes: datetime, late: Sequence[int]) -> str:
    says = _("Carry it by hand before everything else, and stay until %(until)s: %(when)s.") % {
        "until": _clock(closes),
        "when": promise_words(at, now),
    }
    return f"{says} {_late_for_it(late)}".strip()


def one_more(station: str, opens: datetime, at: datetime, now: datetime) -> str:
    return _("One more person at %(station)s %(day)s until closing: %(when)s.") % {
        "station": Station(station).label,
        "day": _on_day(opens, now),
        "when": promise_words(at, now),
    }


def longer_evening(opens: datetime, closes: datetime, at: datetime, now: datetime) -> str:
    return _("Stay open %(day)s until %(until)s: %(when)s.") % {
        "day": _on_day(opens, now),
        "until": _clock(closes),
        "when": promise_words(at, now),
    }


def rescue_words(ways: Sequence[str], soonest: datetime, now: datetime, *, held: bool) -> str:
    """The ways out in a row; where there is none, that the customer is to be called."""
    if ways:
        said = " ".join(ways)
        return _("Answer the hold, then: %(ways)s") % {"ways": said} if held else said
    if held:
        ready = _("Answered now and carried by hand before everything else: %(when)s.")
    else:
        ready = _("Carried by hand before everything else it is ready %(when)s.")
    return " ".join(
        [
            _("Nothing in the shop brings it back: call the customer."),
            ready % {"when": promise_words(soonest, now)},
        ]
    )


def _late_for_it(late: Sequence[int]) -> str:
    if not late:
        return ""
    named = ", ".join(map(str, late[:_NAMED_LATE]))
    if (more := len(late) - _NAMED_LATE) > 0:
        named += ngettext(" and %(n)d more", " and %(n)d more", more) % {"n": more}
    return _("(Late for it: %(tickets)s.)") % {"tickets": named}


def _on_day(opens: datetime, now: datetime) -> str:
    if business_day(opens) == business_day(now):
        return _("today")
    return _("on %(day)s") % {"day": date_format(timezone.localtime(opens), "l")}


def _clock(at: datetime) -> str:
    return date_format(timezone.localtime(at), "H:i")
