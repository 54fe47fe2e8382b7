"""The late list: when each ticket can be expected, what holds it up, and what would rescue it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.owner import now as present
from counter.owner.figure_rows import FigureList, FigureRow, of_ticket
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import Customer
from tickets.promise.expected import Expected, Outlook, outlook_of
from tickets.promise.rescue import Rescue, rescue
from tickets.shop.calendar import business_day
from tickets.tracking.wording import say_when
from tickets.wording import promise_words

_WORTH_SAYING = timedelta(hours=1)
"""A queue before a ticket is named from this length on, as in the reason of a promise."""


@dataclass(frozen=True)
class LateTicket:
    """One ticket of the list in words. The ways out are tried when they are asked for, so that a
    long list costs no more than the rows it shows."""

    expected: Expected
    outlook: Outlook
    customer: Customer

    @property
    def now(self) -> datetime:
        return self.outlook.now

    @property
    def is_past(self) -> bool:
        return self.expected.ticket.promised_at < self.now

    @property
    def promised(self) -> str:
        return promise_words(self.expected.ticket.promised_at, self.now)

    @property
    def ready(self) -> str:
        """When it is expected; with a hold, from an answer that comes now."""
        return promise_words(self.expected.at, self.now)

    @property
    def after(self) -> str:
        return span_words(self.expected.after)

    @property
    def holds_up(self) -> str:
        """The station, or the question, that holds it up."""
        if (hold := self.expected.hold) is not None:
            return _("On hold: %(reason)s (%(owner)s asks again %(day)s)") % {
                "reason": hold.reason,
                "owner": hold.owner,
                "day": date_format(hold.ask_again_on, "D j M"),
            }
        if self.expected.holds_up not in Station.values:
            return _("Nothing but the rack: only to be hung up.")
        station = Station(self.expected.holds_up).label
        until = self.expected.full_until
        if until is None or until - self.now < _WORTH_SAYING:
            return str(station)
        return _("%(station)s, with work before it until %(until)s") % {
            "station": station,
            "until": self._moment(until),
        }

    def _moment(self, at: datetime) -> str:
        same = business_day(at) == business_day(self.now)
        return date_format(timezone.localtime(at), "H:i" if same else "D j M, H:i")

    @cached_property
    def rescue(self) -> Rescue:
        return rescue(self.outlook, self.expected)

    @property
    def rescued_by(self) -> str:
        return self.rescue.sentence(self.now)


@dataclass(frozen=True)
class LateRow(FigureRow):
    """A ticket of the late list, with what can be said and tried for it."""

    late: LateTicket | None = None


def late_list(
    title: str, formula: str, now: datetime, which: Callable[[Outlook], list[Expected]]
) -> FigureList:
    """The tickets that ``which`` picks, with their expected time, oldest promise first.

    A shop that has no open day to come is told so in place of the times.
    """
    try:
        outlook = outlook_of(now)
    except Refused as no:
        past = present.late(now).select_related("customer") if which is Outlook.late else ()
        return FigureList(title, f"{formula} {no}", [of_ticket(each, str(no)) for each in past])
    expected = which(outlook)
    tickets = present.by_number(each.ticket.number for each in expected)
    rows: list[FigureRow] = []
    for each in expected:
        ticket = tickets[each.ticket.number]
        note = _("promised %(when)s") % {"when": say_when(ticket.promised_at)}
        late = LateTicket(each, outlook, ticket.customer)
        row = of_ticket(ticket, note)
        rows.append(LateRow(row.who, note=note, ticket=row.ticket, spoken=row.spoken, late=late))
    return FigureList(title, f"{formula} {_how()}", rows)


def _how() -> str:
    return _(
        "Expected: the work left in the lines of now (what may wait least first), by the sums "
        "that make the promises. At each station: minutes of work before it / people, its own "
        "minutes, and half an hour until somebody takes it up; then the machine, rail or partner; "
        "all in opening hours. A way out is named only where these sums, made anew with it, end "
        "before the promise."
    )


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
