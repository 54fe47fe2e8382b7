"""The shop's own days: its time zone, opening hours and closed days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from tickets.errors import Refused
from tickets.models import ClosedDay, OpeningHours

_LONGEST_SEARCH = 400


def business_day(at: datetime | None = None) -> date:
    """The shop's calendar day of a moment (default: now)."""
    return timezone.localtime(at or timezone.now()).date()


def start_of(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


@dataclass(frozen=True)
class ShopCalendar:
    """Opening hours and closed days, read once; all sums after that need no database."""

    hours: dict[int, tuple[time, time]]
    closed: frozenset[date]

    @classmethod
    def load(cls) -> ShopCalendar:
        return cls(
            hours={row.weekday: (row.opens, row.closes) for row in OpeningHours.objects.all()},
            closed=frozenset(ClosedDay.objects.values_list("day", flat=True)),
        )

    def opening(self, day: date) -> tuple[datetime, datetime] | None:
        """Opening and closing moment of a day, or None when the shop is closed."""
        if day in self.closed or day.weekday() not in self.hours:
            return None
        opens, closes = self.hours[day.weekday()]
        return (
            timezone.make_aware(datetime.combine(day, opens)),
            timezone.make_aware(datetime.combine(day, closes)),
        )

    def is_open(self, at: datetime) -> bool:
        window = self.opening(business_day(at))
        return window is not None and window[0] <= at <= window[1]

    def next_open(self, at: datetime) -> datetime:
        """The first moment at or after ``at`` when the shop is open."""
        day = business_day(at)
        for offset in range(_LONGEST_SEARCH):
            window = self.opening(day + timedelta(days=offset))
            if window is None or window[1] <= at:
                continue
            return max(at, window[0])
        raise Refused(
            "never_open",
            f"The shop has no open day in the {_LONGEST_SEARCH} days after {day:%Y-%m-%d}.",
            "Set opening hours, or remove closed days.",
        )

    def add_minutes(self, at: datetime, minutes: float) -> datetime:
        """Moment when ``minutes`` of open time have passed since ``at``."""
        now = self.next_open(at)
        left = timedelta(minutes=minutes)
        while True:
            window = self.opening(business_day(now))
            assert window is not None  # next_open only returns open moments
            if now + left <= window[1]:
                return now + left
            left -= window[1] - now
            now = self.next_open(window[1] + timedelta(seconds=1))

    def open_minutes(self, start: datetime, end: datetime) -> float:
        """Minutes of open time between two moments (0 when ``end`` is before ``start``)."""
        total = timedelta()
        day = business_day(start)
        while day <= business_day(end):
            window = self.opening(day)
            if window is not None:
                total += max(timedelta(), min(end, window[1]) - max(start, window[0]))
            day += timedelta(days=1)
        return total.total_seconds() / 60
