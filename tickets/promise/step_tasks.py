"""A stored step of a route, as the sums of time read it."""

from __future__ import annotations

from decimal import Decimal

from care_rules import Settings
from tickets.choices import Station
from tickets.promise.tasks import Task
from tickets.shop import drying_places, figures
from tickets.shop import minutes as workloads

USUAL_GRAMS = 400
"""A piece that nobody weighed and whose kind has no weight; planning figure."""

_RATIO = {Station.WASH: "load.ratio.coloured_cotton", Station.DRY: "load.dryer_ratio"}


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
