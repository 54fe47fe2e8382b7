"""One step of a piece as every sum of time reads it. All durations are minutes."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from care_rules import Settings
from tickets.choices import Station
from tickets.shop import drying_places, figures
from tickets.shop import minutes as workloads

USUAL_GRAMS = 400
"""A piece that nobody weighed and whose kind has no weight; planning figure."""

_RATIO = {Station.WASH: "load.ratio.coloured_cotton", Station.DRY: "load.dryer_ratio"}


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


def task_of(station: str, step: str, minutes: Decimal, settings: Settings, grams: int) -> Task:
    """A stored step of a piece of that weight (0: nobody weighed it), as the promise reads it."""
    return Task(
        station,
        float(minutes),
        workloads.waits_by_settings(step, settings),
        _litres(step, settings, grams),
        workloads.partner_service(step, settings),
        drying_places.place_for(step, settings),
    )


def _litres(step: str, settings: Settings, grams: int) -> float:
    """Litres of drum for the piece; 0 where the step needs none."""
    if step not in ("wash", "dry") or settings.get("method", "tumble") != "tumble":
        return 0.0
    return (grams or USUAL_GRAMS) / 1000 * figures.number(_RATIO[Station(step)])
