"""The work that waits, by promise: how much of it stands before a moment."""

from __future__ import annotations

import bisect
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import accumulate

from tickets.promise.capacity import Capacity, Hours
from tickets.promise.tasks import Task

ROOM = 0.15
"""Share of the work due by a promise that has to fit on top of it before other work may come
between: what goes wrong at a station takes about that (chosen by simulation, no source)."""


@dataclass(frozen=True)
class Waiting:
    """A piece in the queue: its ticket, that ticket's promise and the tasks still to do."""

    ticket: int
    due: datetime
    tasks: tuple[Task, ...]


class Queue:
    """All work that waits, by promise. The same pieces in any order make the same queue."""

    def __init__(self, waiting: Iterable[Waiting], capacity: Capacity) -> None:
        rows: dict[str, list[tuple[datetime, float, float]]] = {}
        for piece in waiting:
            for task in piece.tasks:
                rows.setdefault(task.station, []).append((piece.due, task.crew, task.machine))
                if task.place in capacity.places:
                    rows.setdefault(task.place, []).append((piece.due, 1.0, 0.0))
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
        """Open minutes of work at each station that is due by then (None: all of it), and the
        pieces due by then for each kind of drying place."""
        found = {}
        for station, (dues, crew, machine) in self._lines.items():
            place = len(dues) if due_by is None else bisect.bisect_right(dues, due_by)
            found[station] = self.capacity.minutes(station, crew[place], machine[place])
        return found

    def in_need(self, more: Mapping[str, float], now: datetime, hours: Hours) -> datetime | None:
        """The latest promise in the queue that could not spare these open minutes more.

        A promise can spare them when all work due by it fits before it at each station that has
        more to do, with ``ROOM`` on top. None: all can. Whether a promise can be kept without the
        addition is not asked: so more capacity never moves the answer later. Drying places are
        left out: the forecast has them.
        """
        latest: datetime | None = None
        for station in sorted((more.keys() & self._lines.keys()) - self.capacity.places.keys()):
            dues, crew, machine = self._lines[station]
            place = len(dues)
            while place and (latest is None or dues[place - 1] > latest):
                work = self.capacity.minutes(station, crew[place], machine[place]) + more[station]
                due = dues[place - 1]
                if self.capacity.done(station, now, work * (1 + ROOM), hours) > due:
                    latest = due
                place = bisect.bisect_left(dues, due)
        return latest
