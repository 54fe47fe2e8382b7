"""What the promise reads: small frozen values. All durations are minutes."""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import accumulate
from typing import Protocol


@dataclass(frozen=True)
class Task:
    """One step of a piece at a station.

    ``crew``: minutes of one person, in opening hours. ``waits``: clock minutes that pass after it
    without crew (a run, a rail, a partner). ``machine``: machine work that the piece brings, in
    any unit of which ``Capacity.machines`` says how much the station does in an open minute.
    """

    station: str
    crew: float
    waits: float = 0.0
    machine: float = 0.0


@dataclass(frozen=True)
class Waiting:
    """A piece in the queue: its ticket, that ticket's promise and the tasks still to do."""

    ticket: int
    due: datetime
    tasks: tuple[Task, ...]


@dataclass(frozen=True)
class Capacity:
    """People at each station (default 1), and the machine work each station does in an open
    minute (no entry: machines never hold it up)."""

    people: Mapping[str, float] = field(default_factory=dict)
    machines: Mapping[str, float] = field(default_factory=dict)

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


class Hours(Protocol):
    """Opening hours, as ``tickets.calendar.ShopCalendar`` has them."""

    def next_open(self, at: datetime) -> datetime: ...

    def add_minutes(self, at: datetime, minutes: float) -> datetime: ...


class Queue:
    """All work that waits, by promise. The same pieces in any order make the same queue."""

    def __init__(self, waiting: Iterable[Waiting], capacity: Capacity) -> None:
        rows: dict[str, list[tuple[datetime, float, float]]] = {}
        for piece in waiting:
            for task in piece.tasks:
                rows.setdefault(task.station, []).append((piece.due, task.crew, task.machine))
        self.capacity = capacity
        self._lines: dict[str, tuple[list[datetime], list[float], list[float]]] = {}
        for station in sorted(rows):
            line = sorted(rows[station])
            self._lines[station] = (
                [due for due, _, _ in line],
                list(accumulate((crew for _, crew, _ in line), initial=0.0)),
                list(accumulate((machine for _, _, machine in line), initial=0.0)),
            )

    def ahead(self, due_by: datetime | None = None) -> dict[str, float]:
        """Open minutes of work at each station that is due by then (None: all of it)."""
        found = {}
        for station, (dues, crew, machine) in self._lines.items():
            place = len(dues) if due_by is None else bisect.bisect_right(dues, due_by)
            found[station] = self.capacity.minutes(station, crew[place], machine[place])
        return found
