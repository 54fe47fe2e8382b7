"""What was counted of a day, kept while nothing is written that counts for it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from threading import Lock

WINDOW = 100
"""So many numbers below the highest are looked at again: where several write at once, a number
taken early may be written late."""

MOST_DAYS = 1000
"""About a line for each day of three years; the days counted first go."""

Counts = tuple[int, int, int]


class KeptCounts:
    """Counts of each day, up to a row; safe where several threads ask at once.

    ``since`` is the number of the row from which on what was written must be asked for. A count
    that is stored with an older row than another is only asked for again.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._newest = 0
        self._counts: dict[date, Counts] = {}

    @property
    def since(self) -> int:
        return self._newest - WINDOW

    def of(
        self, days: Iterable[date], newest: int, touched: Collection[date] | None
    ) -> dict[date, Counts]:
        """The counts that still hold of these days. ``newest`` is the highest row that is there,
        ``touched`` the days for which a row above ``since`` counts; None where that is unknown."""
        with self._lock:
            if touched is None or newest < self._newest:  # what was there is gone
                self._counts.clear()
            for day in touched or ():
                self._counts.pop(day, None)
            return {day: self._counts[day] for day in days if day in self._counts}

    def keep(self, counts: Mapping[date, Counts], newest: int) -> None:
        """``newest`` was the highest row before these were counted."""
        with self._lock:
            self._newest = newest
            self._counts.update(counts)
            for day in list(self._counts)[:-MOST_DAYS]:
                del self._counts[day]

    def forget(self) -> None:
        with self._lock:
            self._newest = 0
            self._counts.clear()
