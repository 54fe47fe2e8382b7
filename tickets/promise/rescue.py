"""What would bring a late ticket back before its promise: each way out is tried on the engine.

Only what really makes the promise hold is named. Where nothing in the shop does, the customer has
to be called, and the soonest time at which the ticket can be ready is said for that call.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.choices import Station
from tickets.promise.capacity import Capacity
from tickets.promise.expected import Case, Expected, Outlook, Work, order_of, stations_of
from tickets.shop.calendar import ShopCalendar, business_day
from tickets.wording import promise_words

EVENINGS = (60, 120)
"""Minutes that a shop may stay open longer, the shorter tried first."""

MOST_NAMED = 3
_NAMED_LATE = 3
_LAST_MINUTE = time(23, 59)


@dataclass(frozen=True)
class Way:
    """One way out: what to do, and when the ticket is then ready."""

    says: str
    at: datetime


@dataclass(frozen=True)
class Rescue:
    """The ways that make the promise hold, the least trouble first (none: call the customer).
    ``soonest`` is the earliest ready time by any way that was tried."""

    ways: tuple[Way, ...]
    soonest: datetime
    held: bool = False

    def sentence(self, now: datetime) -> str:
        if self.ways:
            ways = " ".join(way.says for way in self.ways)
            return _("Answer the hold, then: %(ways)s") % {"ways": ways} if self.held else ways
        if self.held:
            soonest = _("Answered now and carried by hand before everything else: %(when)s.")
        else:
            soonest = _("Carried by hand before everything else it is ready %(when)s.")
        return " ".join(
            [
                _("Nothing in the shop brings it back: call the customer."),
                soonest % {"when": promise_words(self.soonest, now)},
            ]
        )


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
    return _Tries(outlook, outlook.cases[expected.ticket.number], expected).found()


class _Tries:
    def __init__(self, outlook: Outlook, case: Case, expected: Expected) -> None:
        self.outlook, self.case, self.expected = outlook, case, expected
        self.due = case.ticket.promised_at
        self.stations = stations_of(case)
        self.opens = outlook.calendar.next_open(outlook.now)
        self.day = business_day(self.opens)

    def found(self) -> Rescue:
        carried = self._ready(Work(), rounds=False)
        soonest = min(carried, self.expected.at)
        held = self.case.hold is not None
        if self.due <= self.outlook.now:
            return Rescue((), soonest, held)
        ways = [way for way in self._single(carried, held) if way.at <= self.due]
        if not ways:
            ways = [way for way in self._together() if way.at <= self.due][:1]
        return Rescue(tuple(ways[:MOST_NAMED]), soonest, held)

    def _single(self, carried: datetime, held: bool) -> Iterator[Way]:
        if held:
            at = self.expected.at
            yield Way(_("no more than that, and it is ready %(when)s.") % self._when(at), at)
        if not self.case.ticket.rush:
            yield self._rush()
        says = _("Carry it by hand from station to station, before everything else: %(when)s.")
        yield Way(says % self._when(carried), carried)
        yield from self._one_more_person()
        yield from self._evening()

    def _together(self) -> Iterator[Way]:
        for calendar, until in self._evenings():
            at = self._ready(Work(), calendar, rounds=False)
            says = _("Carry it by hand before everything else, and stay until %(until)s: %(when)s.")
            yield Way(says % {"until": until, **self._when(at)}, at)

    def _rush(self) -> Way:
        at = self._ready(self._before(rush=True))
        says = _("Make it rush, so that it goes before ordinary work: %(when)s.") % self._when(at)
        if at <= self.due and (late := self._made_late()):
            named = ", ".join(map(str, late[:_NAMED_LATE]))
            if (more := len(late) - _NAMED_LATE) > 0:
                named += ngettext(" and %(n)d more", " and %(n)d more", more) % {"n": more}
            says += " " + _("(Late for it: %(tickets)s.)") % {"tickets": named}
        return Way(says, at)

    def _one_more_person(self) -> Iterator[Way]:
        """The first station where one more person until closing is enough; the one that holds the
        ticket up is tried first."""
        before = self._before()
        for station in sorted(self.stations, key=lambda each: each != self.expected.holds_up):
            at = self._ready(before, helped=station)
            if at <= self.due and station in Station.values:
                says = _("One more person at %(station)s %(day)s until closing: %(when)s.")
                named = {"station": Station(station).label, "day": self._day()}
                yield Way(says % {**named, **self._when(at)}, at)
                return

    def _evening(self) -> Iterator[Way]:
        before = self._before()
        for calendar, until in self._evenings():
            at = self._ready(before, calendar)
            if at <= self.due:
                says = _("Stay open %(day)s until %(until)s: %(when)s.")
                yield Way(says % {"day": self._day(), "until": until, **self._when(at)}, at)
                return

    def _evenings(self) -> Iterator[tuple[ShopCalendar, str]]:
        now = self.outlook.calendar
        for minutes in EVENINGS:
            longer = _Longer(
                now.hours, now.closed, now.breaks, now.cut_offs, now.rounds, self.day, minutes
            )
            window = longer.opening(self.day)
            assert window is not None  # next_open found this day open
            yield longer, date_format(timezone.localtime(window[1]), "H:i")

    def _before(self, *, rush: bool = False) -> Work:
        """What goes before the ticket as it is, or if it were rush."""
        place, work = order_of(self.case.ticket, rush=rush), Work()
        for other in self.outlook.cases.values():
            if other.order < place and other is not self.case:
                work.add(other)
        return work

    def _ready(
        self,
        before: Work,
        calendar: ShopCalendar | None = None,
        *,
        rounds: bool = True,
        helped: str = "",
    ) -> datetime:
        capacity = self.outlook.capacity
        ahead = before.minutes(capacity, self.stations)
        if helped:
            ahead[helped], capacity = self._with_help(before, helped)
        return self.outlook.ready(self.case, ahead, calendar, rounds=rounds, capacity=capacity).at

    def _with_help(self, before: Work, station: str) -> tuple[float, Capacity]:
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

    def _made_late(self) -> list[int]:
        """Tickets in time as things stand, and not once this one goes before them."""
        outlook, late, before = self.outlook, [], Work()
        place = order_of(self.case.ticket, rush=True)
        extra = Work()
        extra.add(self.case)
        for number, other in outlook.cases.items():
            if other is self.case:
                break
            passed = other.order > place and set(self.stations) & set(stations_of(other))
            if passed and outlook.tickets[number].at <= other.ticket.promised_at:
                with_it = _sum(before, extra).minutes(outlook.capacity, stations_of(other))
                if outlook.ready(other, with_it).at > other.ticket.promised_at:
                    late.append(number)
            before.add(other)
        return late

    def _when(self, at: datetime) -> dict[str, str]:
        return {"when": promise_words(at, self.outlook.now)}

    def _day(self) -> str:
        if self.day == business_day(self.outlook.now):
            return _("today")
        return _("on %(day)s") % {"day": date_format(self.day, "l")}


def _sum(one: Work, other: Work) -> Work:
    both = Work()
    for work in (one, other):
        for station, crew in work.crew.items():
            both.crew[station] += crew
            both.machine[station] += work.machine[station]
    return both
