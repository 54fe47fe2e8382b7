"""What the shop can do: its people, machines and drying places as they stand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date, datetime, timedelta

from django.utils import timezone

from tickets.choices import Station
from tickets.models import (
    Machine,
    Programme,
)
from tickets.models.machines import DRYING_PLACES, ONE_PERSON
from tickets.promise.capacity import Capacity, Spell
from tickets.shop import machines
from tickets.shop.calendar import business_day, start_of
from tickets.shop.crews import Crews
from tickets.shop.queries import crews_since, places_now

USUAL_FILL = 0.75
"""How full runs go on average; planning figure, common trade practice."""


def shop_capacity(now: datetime | None = None, *, since: date | None = None) -> Capacity:
    """People of each station, litres of drum that its machines turn over in a minute, the days
    from ``since`` on (that of ``now``) that have another crew, and when each drying place is free.

    A shop that told us no machines or drying places is not held up by any. At the press no more
    people work than there are presses and ironers in use, where the shop told us of any.
    """
    minutes: dict[str, list[int]] = defaultdict(list)
    for kind, run_minutes in Programme.objects.filter(in_use=True).values_list("kind", "minutes"):
        minutes[kind].append(run_minutes)
    litres: dict[str, float] = defaultdict(float)
    room: dict[str, int] = defaultdict(int)
    presses = 0
    for machine in Machine.objects.filter(in_use=True).order_by("pk"):
        presses += machine.kind in ONE_PERSON
        if machine.kind in DRYING_PLACES:
            room[machine.kind] += machine.most_pieces
        if machine.kind in minutes:
            run = sum(minutes[machine.kind]) / len(minutes[machine.kind]) + machine.turnaround
            station = machines.station_of(machine.kind)
            litres[station] += float(machine.litres) * USUAL_FILL / run
    now = now or timezone.now()
    crews = crews_since(since or business_day(now))
    people = _at_the_presses(crews.usual, presses)
    places = {place.kind.value: place.free_times(now) for place in places_now(now, room)}
    return Capacity(people, dict(litres), _spells(crews, people, presses, litres), places)


def _at_the_presses(people: Mapping[str, float], presses: int) -> dict[str, float]:
    crews = dict(people)
    if presses:
        crews[Station.PRESS] = min(crews.get(Station.PRESS, 1.0), float(presses))
    return crews


def _spells(
    crews: Crews, people: Mapping[str, float], presses: int, litres: Collection[str]
) -> dict[str, list[Spell]]:
    """More hands than usual make no drum turn faster."""
    spells: dict[str, list[Spell]] = defaultdict(list)
    for day in sorted(crews.days):
        there = _at_the_presses(crews.on(day), presses)
        for station in sorted(crews.days[day]):
            share = there[station] / people.get(station, 1.0)
            share = min(share, 1.0) if station in litres else share
            ends = start_of(day + timedelta(days=1))
            spells[station].append(Spell(start_of(day), ends, share))
    return dict(spells)
