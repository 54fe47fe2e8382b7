"""A Monday, two shops and what is drawn for them, for the tests of the promise engine."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

from hypothesis import strategies as st

from tickets.promise.capacity import Spell
from tickets.promise.margin import Margin, MarginLine
from tickets.shop.calendar import ShopCalendar

NOW = datetime(2026, 1, 5, 9, tzinfo=UTC)  # a Monday; London keeps UTC in winter
DAYTIME = ShopCalendar({day: (time(8), time(18)) for day in range(5)}, frozenset())
STATIONS = ("bench", "wash", "dry", "press")
WAYS = ("at once", "machines", "a night", "a day", "days")
NO_MARGIN = Margin(dict.fromkeys(WAYS, MarginLine(0.0, 0.0)))


class AlwaysOpen:
    """Hours without a closing. A calendar of clock times can't say that: it rests a moment before
    each midnight, which sums that must be exact would show."""

    def is_open(self, at: datetime) -> bool:
        return True

    def next_open(self, at: datetime) -> datetime:
        return at

    def add_minutes(self, at: datetime, minutes: float) -> datetime:
        return at + timedelta(minutes=minutes)

    def open_minutes(self, start: datetime, end: datetime) -> float:
        return max(0.0, (end - start).total_seconds() / 60)

    def back(self, service: str, at: datetime) -> datetime | None:
        return None


ALWAYS = AlwaysOpen()


def after(minutes: float) -> datetime:
    return NOW + timedelta(minutes=minutes)


def minutes_until(moment: datetime) -> float:
    return (moment - NOW).total_seconds() / 60


def day_of(after_days: int, share: float) -> Spell:
    """The whole day, from midnight, with this share of the usual crew."""
    start = datetime(2026, 1, 5, tzinfo=UTC) + timedelta(days=after_days)
    return Spell(start, start + timedelta(days=1), share)


places_drawn = st.dictionaries(
    st.sampled_from(["rail", "flat"]),
    st.lists(st.integers(-600, 2000).map(after), min_size=1, max_size=6),
)
