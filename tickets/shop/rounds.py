"""A partner's rounds: when a piece goes out, and when it is back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _

from tickets.errors import Refused
from tickets.models import Partner

_LONGEST_SEARCH = 400

OpenOn = Callable[[date], bool]
"""Whether the shop is open on a day: on other days nobody hands a bag over."""


@dataclass(frozen=True)
class Round:
    """The days of one partner. An empty set of weekdays means every day the shop is open.

    Both moments only grow with the moment they are asked for, as the promise needs it.
    """

    name: str
    services: tuple[str, ...]
    collect_days: frozenset[int]
    collect_at: time
    days_away: int
    return_days: frozenset[int]
    return_at: time

    @classmethod
    def of(cls, partner: Partner) -> Round:
        return cls(
            partner.name,
            tuple(partner.services),
            frozenset(partner.collect_days),
            partner.collect_at,
            partner.days_away,
            frozenset(partner.return_days),
            partner.return_at,
        )

    def goes(self, at: datetime, open_on: OpenOn) -> datetime:
        """The first pick-up at or after a moment."""
        return self._next(
            timezone.localtime(at).date(), self.collect_days, self.collect_at, at, open_on
        )

    def back(self, at: datetime, open_on: OpenOn) -> datetime:
        """When a piece that is packed at this moment is in the shop again."""
        return self.home(self.goes(at, open_on), open_on)

    def home(self, out: datetime, open_on: OpenOn) -> datetime:
        """When what is picked up at this moment is brought back."""
        first = timezone.localtime(out).date() + timedelta(days=self.days_away)
        return self._next(first, self.return_days, self.return_at, out, open_on)

    def latest_out(
        self, before: datetime, open_on: OpenOn, in_time: Callable[[datetime], bool]
    ) -> datetime | None:
        """The latest pick-up before a moment from which a piece is home in time; None for none.

        ``in_time`` says so of the moment when it is home, and of any earlier one too if of that.
        """
        first = timezone.localtime(before).date()
        for offset in range(_LONGEST_SEARCH):
            day = first - timedelta(days=offset)
            if not open_on(day) or (self.collect_days and day.weekday() not in self.collect_days):
                continue
            out = timezone.make_aware(datetime.combine(day, self.collect_at))
            try:
                if out <= before and in_time(self.home(out, open_on)):
                    return out
            except Refused:  # it is never brought back while the shop is open
                return None
        return None

    def _next(
        self,
        first: date,
        weekdays: frozenset[int],
        clock: time,
        not_before: datetime,
        open_on: OpenOn,
    ) -> datetime:
        for offset in range(_LONGEST_SEARCH):
            day = first + timedelta(days=offset)
            if weekdays and day.weekday() not in weekdays:
                continue
            moment = timezone.make_aware(datetime.combine(day, clock))
            if moment >= not_before and open_on(day):
                return moment
        raise Refused(
            "partner_never",
            _("%(partner)s never comes on a day when the shop is open (looked from %(day)s on).")
            % {"partner": self.name, "day": f"{first:%Y-%m-%d}"},
            _("Correct the partner's days, or the opening hours."),
        )
