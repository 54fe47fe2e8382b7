"""How many people work at each station over a day, from what the owner told."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time
from statistics import mean

from tickets.models import OpeningHours, StationCrew


def people_by_station() -> dict[str, float]:
    """Station -> people, with those who are there for only part of the day as that part of one.

    Two people for 120 minutes of a day of 480 work as half a person does all day. The day is the
    mean of the week's working days, breaks left out. Two queries, one where nobody's minutes are
    told.
    """
    crews = list(StationCrew.objects.all())
    if not any(row.minutes_a_day for row in crews):
        return {row.station: float(row.people) for row in crews}
    day = working_minutes(OpeningHours.objects.all())
    return {row.station: float(row.people) * _share(row.minutes_a_day, day) for row in crews}


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
