"""Which loads and bags the busy shop is told to make, and the plans of days from the care engine,
as a person last looked at them.

The laws of the planner stand beside; what is held here is the plan itself. A better search may
change it: then these figures are written anew, and have to be lower.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from time_machine import Traveller

from tests.approved import assert_approved
from tests.page_lines import page_lines
from tests.tickets.busy_shop import busy_shop, held_busy_shop
from tests.tickets.loads.days import shop_day
from tickets.choices import Station
from tickets.loads.planner import plan_loads
from tickets.loads.proposals import Floor, floor
from tickets.loads.runs import Plan, score
from tickets.models import Load
from tickets.shop.queries import read_calendar

APPROVED = Path(__file__).with_name("approved")


def floor_lines(here: Floor) -> Iterator[str]:
    yield f"{here.waiting} waiting, {len(here.loads)} loads"
    for now in here.machines:
        busy = f"{now.busy.state} for {now.left} min" if now.busy else "free"
        yield f"{now.machine.name} {busy}, closed {now.closed is not None}"
    for run in here.proposals:
        yield (
            f"{run.machine.name}, {run.programme.name}, now {run.now}, in {run.starts_in} min: "
            f"{' '.join(piece.spoken for piece in run.pieces)}, {run.kilograms} kg, "
            f"{run.fill_percent} % full"
        )
        sums = run.estimate
        yield f"  {sums.minutes} min, {sums.water_l:.1f} l, {sums.energy_kwh:.2f} kWh"
        yield from (f"  {words}" for words in [*run.reasons, *run.steps])
    for partner in here.partners:
        yield f"{partner.partner} {partner.services} goes {partner.goes} back {partner.back}"
    for bag in here.bags:
        codes = " ".join(piece.spoken for piece in bag.pieces)
        late = [piece.spoken for piece in bag.too_late]
        yield f"{bag.partner}: {codes}, {bag.kilograms} kg, {bag.fill_percent} % full, late {late}"
        yield from (f"  {words}" for words in [*bag.reasons, *bag.steps])
    yield from (f"apart {entry.piece.spoken}: {entry.why}" for entry in here.apart)
    for place in here.places:
        dry_at = [f"{timezone.localtime(at):%H:%M}" for at in place.dry_at]
        yield f"{place.kind.value}: {place.places} places, dry at {dry_at}"


def plan_lines(plan: Plan) -> Iterator[str]:
    yield f"score {score(plan)}, {len(plan.runs)} runs, {len(plan.left_over)} left over"
    for run in plan.runs:
        codes = " ".join(piece.code for piece in run.pieces)
        yield f"{run.machine.key} {run.programme.key} {run.start} to {run.finish}: {codes}"


@pytest.mark.parametrize("station", [Station.WASH, Station.DRY, Station.SEND_OUT])
def test_loads_are_proposed_as_approved(crew: User, station: Station) -> None:
    opening = datetime.fromisoformat("2026-06-17T08:00:00+01:00")
    morning = read_calendar().next_open(opening)
    busy_shop(crew, morning)
    assert_approved(floor_lines(floor(station, morning)), APPROVED / f"floor-{station.value}.txt")


def test_the_pages_are_as_approved(back: Client, crew: User, clock: Traveller) -> None:
    held_busy_shop(crew, clock)
    stations = [f"/loads/{station}/" for station in ("wash", "dry", "send_out")]
    loads = [f"/load/{load.pk}/" for load in Load.objects.order_by("pk")]
    pages = [(path, back.get(path).content) for path in [*stations, *loads]]
    assert_approved(page_lines(pages), APPROVED / "pages.txt")


@pytest.mark.parametrize(("seed", "number"), [(5, 12), (6, 40), (7, 90)])
def test_a_day_from_the_care_engine_is_planned_as_approved(seed: int, number: int) -> None:
    pieces, machines = shop_day(seed, number)
    plan = plan_loads(pieces, machines, 200)
    assert_approved(plan_lines(plan), APPROVED / f"plan-of-{number}.txt")
