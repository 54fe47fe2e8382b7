"""One step of a piece as every sum of time reads it. All durations are minutes."""

from __future__ import annotations

from dataclasses import dataclass

from tickets.choices import Station


@dataclass(frozen=True)
class Task:
    """One step of a piece at a station.

    ``crew``: minutes of one person, in opening hours. ``waits``: clock minutes that pass after it
    without crew (a run, a rail). ``machine``: machine work that the piece brings, in any unit of
    which ``Capacity.machines`` says how much the station does in an open minute. ``partner``: what
    it goes to a partner for, whose days count in place of ``waits`` where one takes that in.
    ``place``: the kind of drying place that it takes for its ``waits``.
    """

    station: str
    crew: float
    waits: float = 0.0
    machine: float = 0.0
    partner: str = ""
    place: str = ""


ASSEMBLY = Task(Station.ASSEMBLY, 10.0)
"""Matching the pieces of a ticket and racking them; planning figure, common trade practice."""
