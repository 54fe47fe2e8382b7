"""What a shop can do in an open minute: its people, machines and drying places. All durations are
minutes."""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Protocol

_SPLIT_SECOND = 1e-6
"""Minutes that sums of fractions may be off: they never cost a night."""


class Hours(Protocol):
    """Opening hours, as the shop's calendar has them. The moment of closing is open,
    yet work that is next open begins after it."""

    def is_open(self, at: datetime) -> bool: ...

    def next_open(self, at: datetime) -> datetime: ...

    def add_minutes(self, at: datetime, minutes: float) -> datetime: ...

    def open_minutes(self, start: datetime, end: datetime) -> float: ...

    def back(self, service: str, at: datetime) -> datetime | None: ...


@dataclass(frozen=True)
class Spell:
    """A stretch of time in which a station has other than its usual crew: ``share`` of it (0:
    nobody, 0.5: half, 2: twice as many)."""

    begins: datetime
    ends: datetime
    share: float

    def __post_init__(self) -> None:
        if self.share < 0 or self.ends <= self.begins:
            raise ValueError(f"{self} is no stretch of work; give a share from 0 and a later end")


@dataclass(frozen=True)
class Capacity:
    """People at each station (default 1), and the machine work each station does in an open
    minute (no entry: machines never hold it up). ``spells`` by station, one after the other.
    ``places`` by kind: when each drying place is free (no entry: they never run out)."""

    people: Mapping[str, float] = field(default_factory=dict)
    machines: Mapping[str, float] = field(default_factory=dict)
    spells: Mapping[str, Sequence[Spell]] = field(default_factory=dict)
    places: Mapping[str, Sequence[datetime]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for what, counts in (("people", self.people), ("machines", self.machines)):
            for station, count in counts.items():
                if count <= 0:
                    raise ValueError(
                        f"{what} at {station!r}: {count} can't work; give a number above 0"
                    )

    def minutes(self, station: str, crew: float, machine: float) -> float:
        """Open minutes for this work: its people or its machines, whichever take longer."""
        return max(
            crew / self.people.get(station, 1.0), machine / self.machines.get(station, math.inf)
        )

    def crew_at(self, at: datetime) -> dict[str, float]:
        """People at each station at a moment, where a number is known."""
        people = dict(self.people)
        for station, spells in self.spells.items():
            for spell in spells:
                if spell.begins <= at < spell.ends:
                    people[station] = self.people.get(station, 1.0) * spell.share
        return people

    def place_free(self, kind: str, before: float, minutes: float, now: datetime) -> datetime:
        """When a drying place is free once that many pieces have had theirs, each for these clock
        minutes: the next of all moments at which a place falls free."""
        free = [max(now, at) for at in self.places[kind]]
        heapq.heapify(free)
        for _ in range(int(before)):
            heapq.heapreplace(free, free[0] + timedelta(minutes=minutes))
        return free[0]

    def pace(self, station: str) -> float:
        """Of one person's work, what is done there in an open minute of a usual day: less than
        one where nobody is there all day."""
        return min(1.0, self.people.get(station, 1.0))

    def done(
        self, station: str, at: datetime, minutes: float, hours: Hours, *, alone: bool = False
    ) -> datetime:
        """When a station that begins then has done so many open minutes of its usual crew.

        A machine without its crew stands still, so a short spell slows both. ``alone``: work that
        only one person can do at a time, which goes no faster for more people and no slower as
        long as one is there.
        """
        for spell in self.spells.get(station, ()):
            if spell.ends <= at:
                continue
            before = hours.open_minutes(at, spell.begins)
            if minutes <= before and at < spell.begins:
                break
            at, minutes = max(at, spell.begins), minutes - before
            share = spell.share
            if alone:
                share = min(1.0, share * self.people.get(station, 1.0)) / self.pace(station)
            inside = hours.open_minutes(at, spell.ends) * share
            if minutes <= inside + _SPLIT_SECOND and share:
                return hours.add_minutes(at, min(minutes, inside) / share)
            at, minutes = spell.ends, minutes - inside
        return hours.add_minutes(at, minutes)

    def own_done(
        self, station: str, at: datetime, lies: float, crew: float, team: float, hours: Hours
    ) -> datetime:
        """When a ticket's own work is done: it ``lies`` so many open minutes first, then one
        person has ``crew`` minutes to do at a piece, and all who are there have ``team`` open
        minutes of their usual number to do at all its pieces."""
        alone = crew / self.pace(station)
        if not self.spells.get(station):
            return hours.add_minutes(at, lies + max(alone, team))
        at = self.done(station, at, lies, hours, alone=True) if lies else at
        return max(
            self.done(station, at, alone, hours, alone=True), self.done(station, at, team, hours)
        )
