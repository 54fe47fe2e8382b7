"""The shop's own days: its time zone, opening hours, breaks, closed days and partners' rounds."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from django.utils import timezone
from django.utils.translation import gettext as _

from tickets.errors import Refused
from tickets.shop.rounds import Round

_LONGEST_SEARCH = 400

Clock = tuple[time, time]
"""From and until, in the shop's time."""


def business_day(at: datetime | None = None) -> date:
    """The shop's calendar day of a moment (default: now)."""
    return timezone.localtime(at or timezone.now()).date()


def start_of(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def _moments(day: date, clock: Clock) -> tuple[datetime, datetime]:
    """In UTC: sums in the shop's zone would be of its clock, which jumps twice a year."""
    start, end = (timezone.make_aware(datetime.combine(day, clock_time)) for clock_time in clock)
    return start.astimezone(UTC), end.astimezone(UTC)


@dataclass(frozen=True)
class ShopCalendar:
    """Opening hours and closed days, read once; all sums after that need no database.

    ``breaks`` and ``cut_offs`` are by weekday like ``hours``; ``rounds`` are the partners in use.
    """

    hours: Mapping[int, Clock]
    closed: frozenset[date]
    breaks: Mapping[int, Clock] = field(default_factory=dict)
    cut_offs: Mapping[int, time] = field(default_factory=dict)
    rounds: tuple[Round, ...] = ()
    _spans: dict[date, tuple[tuple[datetime, datetime], ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    #: asked for once: it is needed for every sum, and Django looks it up each time
    _zone: tzinfo = field(
        default_factory=timezone.get_current_timezone, init=False, repr=False, compare=False
    )

    def __hash__(self) -> int:
        days = (self.hours, self.breaks, self.cut_offs)
        return hash((*(frozenset(hours.items()) for hours in days), self.closed, self.rounds))

    def opening(self, day: date) -> tuple[datetime, datetime] | None:
        """Opening and closing moment of a day, or None when the shop is closed."""
        if not self.open_on(day):
            return None
        return _moments(day, self.hours[day.weekday()])

    def open_on(self, day: date) -> bool:
        return day.weekday() in self.hours and day not in self.closed

    def spans(self, day: date) -> tuple[tuple[datetime, datetime], ...]:
        """The stretches of a day in which people work: one, or two round a break."""
        if day not in self._spans:
            self._spans[day] = tuple(self._spans_of(day))
        return self._spans[day]

    def _spans_of(self, day: date) -> Iterator[tuple[datetime, datetime]]:
        window = self.opening(day)
        if window is None:
            return
        pause = self.breaks.get(day.weekday())
        if pause is None:
            yield window
        else:
            start, end = _moments(day, pause)
            yield window[0], start
            yield end, window[1]

    def is_open(self, at: datetime) -> bool:
        """Whether people work at a moment."""
        return any(start <= at <= end for start, end in self.spans(self._day_of(at)))

    def next_open(self, at: datetime) -> datetime:
        """The first moment at or after ``at`` when people work."""
        return max(at, self._span_after(at)[0])

    def add_minutes(self, at: datetime, minutes: float) -> datetime:
        """Moment when ``minutes`` of open time have passed since ``at``."""
        left = timedelta(minutes=minutes)
        start, end = self._span_after(at)
        now = max(at, start)
        while now + left > end:
            left -= end - now
            now, end = self._span_after(end)
        return now + left

    def minutes_before(self, at: datetime, minutes: float) -> datetime:
        """The last moment from which ``minutes`` of open time still pass until ``at``.

        None at all is ``at`` itself. In a shop that was never open before, clock time counts.
        """
        left, day = timedelta(minutes=minutes), self._day_of(at)
        if not left:
            return at
        for offset in range(_LONGEST_SEARCH):
            for start, end in reversed(self.spans(day - timedelta(days=offset))):
                until = min(end, at)
                if start < until:
                    if until - left >= start:
                        return until - left
                    left -= until - start
        return at - left

    def open_minutes(self, start: datetime, end: datetime) -> float:
        """Minutes of open time between two moments (0 when ``end`` is before ``start``)."""
        total = timedelta()
        day, last = self._day_of(start), self._day_of(end)
        while day <= last:
            for opens, closes in self.spans(day):
                total += max(timedelta(), min(end, closes) - max(start, opens))
            day += timedelta(days=1)
        return total.total_seconds() / 60

    def counts_from(self, at: datetime) -> datetime:
        """When a ticket taken in at this moment begins to count: ``at``, or after the day's
        cut-off the start of the next working day."""
        local = timezone.localtime(at)
        cut_off = self.cut_offs.get(local.weekday())
        if cut_off is None or local.time() <= cut_off or not self.open_on(local.date()):
            return at
        return self.next_open(start_of(local.date() + timedelta(days=1)))

    def back(self, service: str, at: datetime) -> datetime | None:
        """When a piece packed for a partner at this moment is back; None where nobody takes it.

        Where several partners serve, the one that has it back first.
        """
        moments = [trip.back(at, self.open_on) for trip in self.rounds if service in trip.services]
        return min(moments, default=None)

    def latest_out(
        self, service: str, before: datetime, in_time: Callable[[datetime], bool]
    ) -> datetime | None:
        """The latest pick-up for a partner before a moment from which a piece is home in time.

        Where several partners serve, the one that may come last; None where none does.
        """
        moments = [
            trip.latest_out(before, self.open_on, in_time)
            for trip in self.rounds
            if service in trip.services
        ]
        return max((out for out in moments if out is not None), default=None)

    def _day_of(self, at: datetime) -> date:
        return at.astimezone(self._zone).date()

    def _span_after(self, at: datetime) -> tuple[datetime, datetime]:
        """The first stretch of work that ends after a moment."""
        day = self._day_of(at)
        for offset in range(_LONGEST_SEARCH):
            for span in self.spans(day + timedelta(days=offset)):
                if span[1] > at:
                    return span
        raise Refused(
            "never_open",
            _("The shop has no open day in the %(days)d days after %(day)s.")
            % {"days": _LONGEST_SEARCH, "day": f"{day:%Y-%m-%d}"},
            _("Set opening hours, or remove closed days."),
        )
