"""The rows of a day plan: every place where work is done."""

from __future__ import annotations

import math

from tickets.choices import WORK_STATIONS, Station
from tickets.plan.values import Day, Lane

STATIONS = (*WORK_STATIONS, Station.ASSEMBLY)


def lanes_of(day: Day) -> list[Lane]:
    """Every place where work is done: people first, then the machines of their station.

    A person who is there for half a day has a lane of half the pace.
    """
    lanes = []
    for station in STATIONS:
        people = day.people.get(station, 1.0)
        count = math.ceil(people)
        lanes += [Lane(station, n + 1, "", count, people / count) for n in range(count)]
        lanes += [Lane(station, 0, m.key) for m in day.machines.get(station, ())]
    return lanes


def unmanned(day: Day) -> set[str]:
    """Stations at which nobody works on this day."""
    return {station for station in STATIONS if day.people.get(station, 1.0) <= 0}
