"""Drying rails and flat places: set by the owner, counted by what hangs there, kept by the plan."""

from __future__ import annotations

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.test import Client
from django.utils import timezone

from tests import building
from tests.tickets.plan.played_days import HOUR, TEN_HOURS, blocks_of, job
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import Machine, MachineKind, RouteStep
from tickets.plan.play import play
from tickets.plan.values import MINUTE, NO_PLACE, WORK, Day, Part
from tickets.shop import drying_places
from tickets.shop.drying_places import Places
from tickets.shop.minutes import waits_by_settings
from tickets.shop.queries import places_now
from tickets.tracking.services import finish_work

FLAT_HOURS = timedelta(days=1)
"""A jumper lies 24 hours: ``wait.flat`` of ``minutes.csv``, the least of ``dry.flat_hours``."""


def places(kind: str, count: int) -> Machine:
    return building.make_machine(f"{kind} 1", kind, 0, most_pieces=count)


def hung(order: int, wait: int, place: str = MachineKind.RAIL) -> Part:
    """Ten minutes to hang a piece up, then so many minutes on the rail."""
    return Part(Station.DRY, (order,), ("dry",), 10 * MINUTE, waits=wait * MINUTE, place=place)


# What the owner tells


def test_a_rail_needs_the_number_of_its_places_and_has_no_drum_or_programmes(crew: User) -> None:
    with pytest.raises(
        Refused, match=r"Rail holds 0 pieces\. Say how many pieces it holds at once\."
    ):
        building.make_machine("Rail", "rail", 0)
    rail = building.make_machine("Rail", "rail", 90, most_pieces=12, spin_g=300)
    assert (rail.litres, rail.spin_g, rail.most_pieces) == (Decimal(0), 0, 12)
    assert not Machine.objects.get().programmes.exists()
    with pytest.raises(IntegrityError), transaction.atomic():
        Machine.objects.update(most_pieces=0)


@pytest.mark.parametrize(("typed", "status"), [("0", 422), ("-3", 422), ("", 422), ("12", 302)])
def test_the_owner_adds_a_rail(boss: Client, typed: str, status: int) -> None:
    sent = {
        "name": "Rail",
        "kind": "rail",
        "spin_g": "0",
        "turnaround": "0",
        "most_pieces": typed,
        "in_use": "on",
    }
    assert boss.post("/shop/machines/", sent).status_code == status
    assert Machine.objects.filter(kind="rail").exists() == (status == 302)
    if status == 302:
        assert "12 pieces at once" in boss.get("/shop/machines/").content.decode()


def test_no_load_is_opened_on_a_rail(back: Client, crew: User) -> None:
    rail = places("rail", 3)
    page = back.get("/loads/dry/").content.decode()
    assert "Drying rail" in page
    assert f'name="machine" value="{rail.pk}"' not in page
    sent = {"machine": str(rail.pk), "codes": "", "key": str(uuid.uuid4())}
    answer = back.post("/loads/dry/open/", sent, follow=True).content.decode()
    assert "There is no such machine in use." in answer


# What hangs there now


def test_a_jumper_lies_on_a_flat_place_until_it_is_dry(crew: User) -> None:
    assert places_now(timezone.now()) == []
    places("flat", 1)
    jumper = building.make_ticket(crew).pieces.get()
    building.work_until(jumper, Station.DRY, crew)
    now = timezone.now()
    assert places_now(now) == [Places(MachineKind.FLAT, 1, ())]
    finish_work(jumper.code, Station.DRY, Act(by=crew, at=now))
    [flat] = places_now(now)
    assert (flat.taken, flat.left, flat.free_at) == (1, 0, now + FLAT_HOURS)
    [flat] = places_now(now + FLAT_HOURS)
    assert (flat.taken, flat.free_at) == (0, None)


def test_a_piece_that_went_on_has_left_its_place(crew: User) -> None:
    places("flat", 1)
    jumper = building.make_ticket(crew).pieces.get()
    building.work_until(jumper, Station.DRY, crew)
    finish_work(jumper.code, Station.DRY, Act(by=crew))
    building.work_until(jumper, Station.ASSEMBLY, crew)
    assert places_now(timezone.now())[0].taken == 0


def test_the_boards_say_when_the_next_place_is_free(back: Client, crew: User) -> None:
    places("flat", 1)
    jumper = building.make_ticket(crew).pieces.get()
    building.work_until(jumper, Station.DRY, crew)
    finish_work(jumper.code, Station.DRY, Act(by=crew))
    for page in ("/boards/dry/", "/loads/dry/"):
        text = " ".join(back.get(page).content.decode().split())
        assert '<b class="number">1</b> of 1 taken' in text
        assert "Full" in text
        assert "next free about" in text
    assert "taken" not in back.get("/boards/wash/").content.decode()


def test_which_step_takes_which_place() -> None:
    assert drying_places.place_for("dry", {"method": "tumble"}) == ""
    assert drying_places.place_for("dry", {"method": "flat"}) == MachineKind.FLAT
    assert drying_places.place_for("dry", {"method": "hang"}) == MachineKind.RAIL
    assert drying_places.place_for("press", {"method": "hang"}) == ""
    assert waits_by_settings("dry", {"method": "flat"}) == FLAT_HOURS.total_seconds() / 60


# What the plan of the day makes of them


def test_the_plan_hangs_up_no_more_than_fits_and_goes_on_when_a_place_is_free() -> None:
    waiting = [job(f"1{n}-01", hung(1, 120)) for n in range(3)]

    def begins(places: dict[str, int]) -> list[int]:
        played = play(Day(TEN_HOURS, places=places), waiting)
        return [block.start // MINUTE for block in blocks_of(played, WORK)]

    assert begins({}) == [0, 10, 20]
    assert begins({MachineKind.RAIL: 3}) == [0, 10, 20]
    # The first piece hangs from minute 10 and is dry at 130.
    assert begins({MachineKind.RAIL: 2}) == [0, 10, 130]
    assert begins({MachineKind.RAIL: 1}) == [0, 130, 260]
    assert begins({MachineKind.FLAT: 1}) == [0, 10, 20]


def test_what_hangs_there_already_keeps_its_place() -> None:
    day = Day(TEN_HOURS, places={MachineKind.RAIL: 1}, drying={MachineKind.RAIL: [HOUR]})
    [block] = blocks_of(play(day, [job("10-01", hung(1, 60))]), WORK)
    assert block.start == HOUR


def test_a_piece_without_a_place_before_closing_is_left_with_that_reason() -> None:
    day = Day(TEN_HOURS, places={MachineKind.RAIL: 1})
    played = play(day, [job("10-01", hung(1, 24 * 60)), job("11-01", hung(1, 60))])
    reasons = {left.code: left.reason for left in played.left if left.station == Station.DRY}
    assert reasons["11-01"] == NO_PLACE


def test_the_days_plan_reads_the_rails_of_the_shop(boss: Client, crew: User) -> None:
    places("flat", 1)
    for _ in range(2):
        jumper = building.make_ticket(crew).pieces.get()
        building.work_until(jumper, Station.DRY, crew)
    assert RouteStep.objects.filter(step="dry", done_at__isnull=True).count() == 2
    page = boss.get("/plan/").content.decode()
    assert "No drying place is free before closing." in page
    Machine.objects.update(in_use=False)
    assert "No drying place is free before closing." not in boss.get("/plan/").content.decode()
