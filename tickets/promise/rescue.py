"""What would bring a late ticket back before its promise: each way out is tried on the engine.

Only what really makes the promise hold is named. Where nothing in the shop does, the customer has
to be called, and the soonest time at which the ticket can be ready is said for that call.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from django.utils import timezone

from tickets.choices import Station
from tickets.promise import wording
from tickets.promise.capacity import Capacity
from tickets.promise.expected import Case, Expected, Outlook, WorkAhead
from tickets.promise.rush import made_late
from tickets.shop.calendar import ShopCalendar, business_day

EVENINGS = (60, 120)
"""Minutes that a shop may stay open longer, the shorter tried first."""

MOST_NAMED = 3
_LAST_MINUTE = time(23, 59)


class WayKind(StrEnum):
    """What is done on a way out, and so where it is done."""

    ANSWER = "answer"
    CARRY = "carry"
    PERSON = "person"
    EVENING = "evening"


@dataclass(frozen=True)
class WayOut:
    """What to do in a few words, when the ticket is then ready, and which are made late by it."""

    kind: WayKind
    says: str
    at: datetime
    late: tuple[int, ...] = ()


@dataclass(frozen=True)
class Rescue:
    """The ways that make the promise hold, the least trouble first (none: call the customer).
    ``soonest`` is the earliest ready time by any way that was tried."""

    ways: tuple[WayOut, ...]
    soonest: datetime
    held: bool = False


@dataclass(frozen=True)
class _Longer(ShopCalendar):
    """The shop's calendar with one longer evening."""

    day: date = date.min
    minutes: int = 0

    def __hash__(self) -> int:
        return hash((super().__hash__(), self.day, self.minutes))

    def opening(self, day: date) -> tuple[datetime, datetime] | None:
        window = super().opening(day)
        if window is None or day != self.day:
            return window
        last = timezone.make_aware(datetime.combine(day, _LAST_MINUTE))
        return window[0], max(window[1], min(window[1] + timedelta(minutes=self.minutes), last))


def rescue(outlook: Outlook, expected: Expected) -> Rescue:
    """Try every way out for one ticket. No queries."""
    return _Tries(outlook, outlook.cases[expected.ticket.number], expected).outcome()


class _Tries:
    def __init__(self, outlook: Outlook, case: Case, expected: Expected) -> None:
        self.outlook, self.case, self.expected = outlook, case, expected
        self.now, self.due = outlook.now, case.ticket.promised_at
        self.opens = outlook.calendar.next_open(outlook.now)
        self.day = business_day(self.opens)
        self.before = outlook.before(case)

    def outcome(self) -> Rescue:
        carried = self._ready(WorkAhead(), rounds=False)
        soonest = min(carried, self.expected.at)
        held = self.case.hold is not None
        if self.due <= self.now:
            return Rescue((), soonest, held)
        ways = list(self._single(carried, held)) or list(self._together())[:1]
        return Rescue(tuple(ways[:MOST_NAMED]), soonest, held)

    def _single(self, carried: datetime, held: bool) -> Iterator[WayOut]:
        at = self.expected.at
        if held and at <= self.due:
            yield WayOut(WayKind.ANSWER, wording.answer(), at)
        if carried <= self.due:
            yield WayOut(WayKind.CARRY, wording.carry(), carried, self._made_late())
        yield from self._one_more_person()
        yield from self._evening()

    def _together(self) -> Iterator[WayOut]:
        for calendar, closes in self._evenings():
            at = self._ready(WorkAhead(), calendar, rounds=False)
            if at <= self.due:
                says = wording.carry_and_longer(closes)
                yield WayOut(WayKind.CARRY, says, at, self._made_late())

    def _one_more_person(self) -> Iterator[WayOut]:
        """The first station where one more person until closing is enough; the one that holds the
        ticket up is tried first."""
        stations = sorted(self.case.stations, key=lambda name: name != self.expected.holds_up)
        for station in stations:
            at = self._ready(self.before, helped=station)
            if at <= self.due and station in Station.values:
                says = wording.one_more(station, self.opens, self.now)
                yield WayOut(WayKind.PERSON, says, at)
                return

    def _evening(self) -> Iterator[WayOut]:
        for calendar, closes in self._evenings():
            at = self._ready(self.before, calendar)
            if at <= self.due:
                says = wording.longer_evening(self.opens, closes, self.now)
                yield WayOut(WayKind.EVENING, says, at)
                return

    def _evenings(self) -> Iterator[tuple[ShopCalendar, datetime]]:
        usual = self.outlook.calendar
        for minutes in EVENINGS:
            longer = _Longer(
                usual.hours,
                usual.closed,
                usual.breaks,
                usual.cut_offs,
                usual.rounds,
                self.day,
                minutes,
            )
            window = longer.opening(self.day)
            assert window is not None  # next_open found this day open
            yield longer, window[1]

    def _made_late(self) -> tuple[int, ...]:
        return tuple(made_late(self.outlook, self.case.routes, besides=self.case))

    def _ready(
        self,
        before: WorkAhead,
        calendar: ShopCalendar | None = None,
        *,
        rounds: bool = True,
        helped: str = "",
    ) -> datetime:
        capacity = self.outlook.capacity
        ahead = before.minutes(capacity)
        if helped:
            ahead[helped], capacity = self._with_help(before, helped)
        return self.outlook.ready(self.case, ahead, calendar, rounds=rounds, capacity=capacity).at

    def _with_help(self, before: WorkAhead, station: str) -> tuple[float, Capacity]:
        """Open minutes of a queue with one more person there until closing, and what the shop can
        do with them: on a short day they bring the station nearer to its usual pace. What is more
        than that works off the queue alone, and the ticket's own work goes no faster."""
        capacity, crew = self.outlook.capacity, before.crew[station]
        people = capacity.people.get(station, 1.0)
        usual = capacity.crew_at(self.opens).get(station, people)
        there = usual + 1
        pace = max(usual, min(there, people)) / people
        window = self.outlook.calendar.opening(self.day)
        assert window is not None  # next_open found this day open
        left = self.outlook.calendar.open_minutes(self.opens, window[1])
        hands = max(pace * crew / there, crew / people - left * (there / people - pace))
        spells = [
            replace(spell, share=pace) if spell.begins <= self.opens < spell.ends else spell
            for spell in capacity.spells.get(station, ())
        ]
        helped = replace(capacity, spells={**capacity.spells, station: spells})
        return max(hands, capacity.minutes(station, 0.0, before.machine[station])), helped
