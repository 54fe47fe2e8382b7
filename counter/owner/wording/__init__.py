"""What the owner's figures are called, how they are counted, what stands beside a counted row."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from tickets.choices import PieceState, Station
from tickets.models import Move, Piece, Ticket
from tickets.promise.expected import Expected
from tickets.promise.queue import OpenPiece
from tickets.shop.calendar import business_day
from tickets.tracking.wording import in_short, name_of, say_when
from tickets.wording import promise_words

_WORTH_SAYING = timedelta(hours=1)
"""A queue before a ticket is named from this length on, as in the reason of a promise."""

_HEADINGS = {
    "late": (
        gettext_lazy("Late now"),
        gettext_lazy("Tickets not fully racked whose promise is past, oldest first."),
    ),
    "at-risk": (
        gettext_lazy("At risk"),
        gettext_lazy("Tickets whose promise is to come, and that are expected after it."),
    ),
    "holds": (
        gettext_lazy("On hold"),
        gettext_lazy("Pieces stopped with a question that has no answer yet."),
    ),
    "in-process": (
        gettext_lazy("In process now"),
        gettext_lazy("Pieces tagged, and not yet racked, collected or gone back."),
    ),
    "process": (
        gettext_lazy("In process now: %(station)s"),
        gettext_lazy(
            "Pieces that wait at this station now, held ones too, with the crew minutes of their "
            "work there."
        ),
    ),
    "jam": (
        gettext_lazy("Still to come to %(station)s"),
        gettext_lazy(
            "Pieces that are expected at this station by the end of the next open day, held ones "
            "left out, with their crew minutes."
        ),
    ),
    "unclaimed": (
        gettext_lazy("Unclaimed for %(band)s days"),
        gettext_lazy(
            "Ready tickets nobody fetched, by days since the last piece was racked; what is owed."
        ),
    ),
    "unpaid": (
        gettext_lazy("Work done, not paid"),
        gettext_lazy("Balances of tickets that were fully racked, whether collected or not."),
    ),
    "came": (
        gettext_lazy("Came to %(station)s"),
        gettext_lazy(
            "Moves of the day that brought a piece here; one that came twice stands twice."
        ),
    ),
    "left": (
        gettext_lazy("Left %(station)s"),
        gettext_lazy(
            "Moves of the day that took a piece from here; one that left twice stands twice."
        ),
    ),
    "finished": (
        gettext_lazy("Finished"),
        gettext_lazy("Pieces racked on the day; hanging one at another place is not counted."),
    ),
    "redo": (
        gettext_lazy("Sent back"),
        gettext_lazy("Moves of the day that sent a piece back to a station, with the reason."),
    ),
    "first-pass": (
        gettext_lazy("Inspected"),
        gettext_lazy(
            "Pieces right first time / pieces inspected: passed or sent back at the check today."
        ),
    ),
    "due": (
        gettext_lazy("Due on the day"),
        gettext_lazy("Tickets fully racked by their promise / tickets due that day."),
    ),
    "turnaround": (
        gettext_lazy("Turnaround"),
        gettext_lazy(
            "Racked time minus intake time of the tickets fully racked on the day, shortest first."
        ),
    ),
    "booked": (
        gettext_lazy("Booked work"),
        gettext_lazy("Value of the tickets opened on the day, as priced at intake."),
    ),
    "takings": (
        gettext_lazy("Takings"),
        gettext_lazy(
            "Money received on the day less money given back; not the value of new tickets."
        ),
    ),
}


def heading(figure: str, **words: object) -> tuple[str, str]:
    """Title of a figure's list, and how it is counted; ``words`` holds its station or band."""
    title, formula = _HEADINGS[figure]
    return str(title) % words if words else str(title), str(formula)


# What stands beside a row


def ask_day(day: date) -> str:
    """The day on which a question is asked again."""
    return date_format(day, "D j M")


def minutes_note(piece: Piece, minutes: float) -> str:
    """``minutes``: crew minutes that the piece brings to the station."""
    return _("%(minutes)d min here, now at %(station)s, promised %(when)s") % {
        "minutes": minutes,
        "station": piece.get_station_display(),
        "when": say_when(piece.promised_at),
    }


def days_ready_note(days: int) -> str:
    return ngettext("ready for %(days)d day", "ready for %(days)d days", days) % {"days": days}


def unpaid_note(ticket: Ticket) -> str:
    return _("collected") if ticket.closed_at else _("still here")


def first_pass_note(right: bool) -> str:
    return _("right first time") if right else _("not right the first time")


def due_note(ticket: Ticket, now: datetime) -> str:
    if ticket.ready_at is not None and ticket.ready_at <= ticket.promised_at:
        return _("on time: racked %(when)s") % {"when": say_when(ticket.ready_at)}
    if ticket.ready_at is not None:
        return _("missed: racked %(when)s") % {"when": say_when(ticket.ready_at)}
    if ticket.promised_at >= now:
        return _("to come: promised %(when)s") % {"when": say_when(ticket.promised_at)}
    return _("missed: not racked yet, promised %(when)s") % {"when": say_when(ticket.promised_at)}


def promised_note(ticket: Ticket) -> str:
    return _("promised %(when)s") % {"when": say_when(ticket.promised_at)}


def since_note(piece: Piece, since: datetime) -> str:
    return _("%(state)s at %(station)s since %(when)s") % {
        "state": PieceState(piece.state).label,
        "station": piece.get_station_display(),
        "when": say_when(since),
    }


def waits_note(piece: Piece, minutes: float) -> str:
    """``minutes``: crew minutes of the work that it waits for where it is."""
    since = since_note(piece, piece.since)
    return (
        _("%(minutes)d min, %(since)s") % {"minutes": minutes, "since": since} if minutes else since
    )


def move_note(move: Move, sent_back: bool) -> str:
    """When, by whom, what and why; ``sent_back``: the station that it went back to is named."""
    words = [say_when(move.at), name_of(move.by), move.get_kind_display()]
    if move.to_station and sent_back:
        words.append(_("to %(station)s") % {"station": move.get_to_station_display()})
    return " · ".join(filter(None, [*words, move.reason]))


# The late list


def expected_how() -> str:
    """By which sums the expected times are made."""
    return _(
        "Expected: the work left in the lines of now (what may wait least first), by the sums "
        "that make the promises. At each station: minutes of work before it / people, its own "
        "minutes, and half an hour until somebody takes it up; then the machine, rail or partner; "
        "all in opening hours. A way out is named only where these sums, made anew with it, end "
        "before the promise."
    )


def stands_at_words(pieces: Iterable[OpenPiece]) -> str:
    """The stations where pieces of a ticket stand that are not ready."""
    return ", ".join(dict.fromkeys(str(Station(piece.station).label) for piece in pieces))


def waits_for_words(expected: Expected, stands_at: str, now: datetime) -> str:
    """The question or the station that a ticket waits for; nothing where it stands there."""
    if expected.hold is not None:
        return in_short(expected.hold.reason)
    if expected.holds_up not in Station.values:
        return _("only to be hung up")
    station = str(Station(expected.holds_up).label)
    until = expected.full_until
    if until is None or until - now < _WORTH_SAYING:
        return "" if station == stands_at else _("waits for %(station)s") % {"station": station}
    same_day = business_day(until) == business_day(now)
    clock = date_format(timezone.localtime(until), "H:i" if same_day else "D j M, H:i")
    if station == stands_at:
        return _("full until %(until)s") % {"until": clock}
    return _("%(station)s full until %(until)s") % {"station": station, "until": clock}


def after_words(expected: Expected) -> str:
    """How long after its promise a ticket is expected."""
    if expected.after <= timedelta(0):
        return _("in time")
    words = {"after": span_words(expected.after)}
    if expected.hold is not None:
        return _("%(after)s late if answered now") % words
    return _("%(after)s late") % words


def call_words() -> str:
    return _("Call the customer")


def then_words(at: datetime, now: datetime) -> str:
    """When a ticket is ready on a way out."""
    return _("ready %(when)s") % {"when": promise_words(at, now)}


def soonest_words(at: datetime, now: datetime) -> str:
    """The earliest that can be said on the telephone."""
    return _("soonest %(when)s") % {"when": promise_words(at, now)}


# Shares, times and days


def percent_words(value: float, decimals: int) -> str:
    return _("%(value)s %%") % {"value": number_format(round(value, decimals), decimals)}


def band_words(first: int, last: int | None) -> str:
    """Days since a ticket was ready, both ends included; ``last`` None: no upper end."""
    if last is None:
        return _("more than %(days)d") % {"days": first - 1}
    return f"{first}–{last}"


def age_words(first: int, last: int | None) -> str:
    """The same, as the head of a row."""
    if last is None:
        return _("over %(days)d days") % {"days": first - 1}
    if not first:
        return _("to %(days)d days") % {"days": last}
    return _("%(first)d to %(last)d days") % {"first": first, "last": last}


def in_hours(time: timedelta | None) -> str:
    """A time in words: “5 h” below two days, “3.5 days” above."""
    if time is None:
        return ""
    hours = time.total_seconds() / 3600
    if hours < 48:
        return _("%(hours).1f h") % {"hours": hours}
    return _("%(days).1f days") % {"days": hours / 24}


def span_words(time: timedelta) -> str:
    """A stretch of time as people say it: ``40 min``, ``3 h 20 min``, ``2 days 4 h``."""
    minutes = round(time.total_seconds() / 60)
    days, hours, rest = minutes // 1440, minutes % 1440 // 60, minutes % 60
    if days:
        if not hours:
            return ngettext("%(n)d day", "%(n)d days", days) % {"n": days}
        said = ngettext("%(n)d day %(hours)d h", "%(n)d days %(hours)d h", days)
        return said % {"n": days, "hours": hours}
    if hours and rest:
        return _("%(hours)d h %(minutes)d min") % {"hours": hours, "minutes": rest}
    if hours:
        return _("%(hours)d h") % {"hours": hours}
    return _("%(minutes)d min") % {"minutes": rest}


# A day that was asked for


def no_day(asked: str, example: date) -> str:
    """``example``: a day as it is written in an address."""
    return _("%(day)s is not a day. Write it like %(example)s.") % {
        "day": asked,
        "example": example.isoformat(),
    }


def no_figures(day: date) -> str:
    return _("There are no figures of %(day)s. Choose a day up to today.") % {
        "day": date_format(day, "j M Y")
    }
