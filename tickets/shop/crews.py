"""How many people work at each station over a day, from what the owner told."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from statistics import mean

from django.utils.translation import gettext as _

from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import CrewDay, OpeningHours, StationCrew
from tickets.shop.calendar import ShopCalendar, business_day
from tickets.writing import atomic_write

MOST_PEOPLE, MOST_DAYS, MOST_AHEAD = 99, 92, 1000
"""More than anybody means: a number with a digit too many is caught. ``MOST_AHEAD``: days from
today on, more than any calendar is searched for an open day."""


@dataclass(frozen=True)
class Crews:
    """Station -> people, with those who are there for only part of the day as that part of one.

    ``usual``: on any day (a station left out: one person). ``days``: where a day is otherwise.
    """

    usual: Mapping[str, float]
    days: Mapping[date, Mapping[str, float]] = field(default_factory=dict)

    def on(self, day: date) -> dict[str, float]:
        return {**self.usual, **self.days.get(day, {})}


def crews_since(first: date) -> Crews:
    """The usual crew, and every day from then on that has another one.

    Two people for 120 minutes of a day of 480 work as half a person does all day. The day is the
    mean of the week's working days, breaks left out. Three queries, two where nobody's minutes
    are told.
    """
    rows = {row.station: row for row in StationCrew.objects.all()}
    told = any(row.minutes_a_day for row in rows.values())
    whole = working_minutes(OpeningHours.objects.all()) if told else 0.0
    part = {station: _share(row.minutes_a_day, whole) for station, row in rows.items()}
    days: dict[date, dict[str, float]] = defaultdict(dict)
    last = business_day() + timedelta(days=MOST_AHEAD)
    for other in CrewDay.objects.filter(day__gte=first, day__lte=last):
        days[other.day][other.station] = float(other.people) * part.get(other.station, 1.0)
    return Crews({s: float(row.people) * part[s] for s, row in rows.items()}, dict(days))


def set_crew_on(station: Station, people: Decimal, first: date, last: date) -> int:
    """Say how many people are at a station on each open day of a stretch, both ends included.

    As many as usual takes the day off the list. Returns the number of days that were set.
    """
    _refuse_impossible(station, people, first, last)
    calendar = ShopCalendar.load()
    stretch = [first + timedelta(days=ahead) for ahead in range((last - first).days + 1)]
    days = [day for day in stretch if calendar.open_on(day)]
    if not days:
        raise Refused(
            "closed_then",
            _("The shop is closed from %(first)s to %(last)s.")
            % {"first": first.isoformat(), "last": last.isoformat()},
            _("Name a day on which it works."),
        )
    usual = StationCrew.objects.filter(station=station).values_list("people", flat=True).first()
    with atomic_write():
        if people == (1 if usual is None else usual):
            CrewDay.objects.filter(station=station, day__in=days).delete()
        else:
            CrewDay.objects.bulk_create(
                [CrewDay(station=station, day=day, people=people) for day in days],
                update_conflicts=True,
                unique_fields=["day", "station"],
                update_fields=["people"],
            )
    return len(days)


def _refuse_impossible(station: Station, people: Decimal, first: date, last: date) -> None:
    if not (people.is_finite() and 0 <= people <= MOST_PEOPLE):
        raise Refused(
            "bad_crew",
            _("%(station)s: %(count)s people can't be reckoned with.")
            % {"station": station.label, "count": people},
            _("Write a number from 0 to %(most)d; half a person is 0.5.") % {"most": MOST_PEOPLE},
        )
    if first < business_day():
        raise Refused(
            "day_is_past",
            _("%(day)s is past.") % {"day": first.isoformat()},
            _("Name today or a day to come."),
        )
    if (last - business_day()).days > MOST_AHEAD:
        raise Refused(
            "day_too_far",
            _("%(day)s is too far off.") % {"day": last.isoformat()},
            _("Name a day of the next %(most)d at most.") % {"most": MOST_AHEAD},
        )
    if not 0 <= (last - first).days < MOST_DAYS:
        raise Refused(
            "bad_stretch",
            _("From %(first)s to %(last)s can't be.")
            % {"first": first.isoformat(), "last": last.isoformat()},
            _("Let it end on the day it begins or later, after %(most)d days at most.")
            % {"most": MOST_DAYS},
        )


def as_usual(crew_day_id: int) -> None:
    """Take a day off the list; one that is off already stays so."""
    with atomic_write():
        CrewDay.objects.filter(pk=crew_day_id).delete()


def working_minutes(week: Iterable[OpeningHours]) -> float:
    """Minutes of work of the mean working day; 0 for a shop that never opens."""
    days = [
        _minutes(row.opens, row.closes)
        - (_minutes(row.break_from, row.break_until) if row.break_from and row.break_until else 0.0)
        for row in week
    ]
    return mean(days) if days else 0.0


def _share(minutes: int | None, day: float) -> float:
    return min(1.0, minutes / day) if minutes and day else 1.0


def _minutes(start: time, end: time) -> float:
    any_day = date(2000, 1, 1)
    between = datetime.combine(any_day, end) - datetime.combine(any_day, start)
    return between.total_seconds() / 60
