"""Crew for part of a day, and machines that can run only some programmes of their kind."""

from __future__ import annotations

from datetime import time
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.test import Client
from django.utils import timezone

from tests import building
from tests.markup import flat
from tickets.choices import WORK_STATIONS, Station
from tickets.errors import Refused
from tickets.loads import proposals
from tickets.models import OpeningHours, Programme, StationCrew
from tickets.shop.calendar import business_day
from tickets.shop.crews import working_minutes
from tickets.shop.queries import crews_since, read_machinery
from tickets.shop.services import save_machine

CREWS = {
    "what": "week",
    "open-2": "on",
    "opens-2": "08:00",
    "closes-2": "18:00",
    **{f"crew-{station}": "1" for station in WORK_STATIONS},
}


# Minutes a day


def test_minutes_a_day_count_as_that_part_of_a_person(crew: User) -> None:
    """The shop of the tests works ten hours on each day."""
    StationCrew.objects.create(station=Station.PRESS, people=2, minutes_a_day=150)
    assert crews_since(business_day()).usual == {"bench": 1.0, "press": 0.5}
    OpeningHours.objects.update(break_from=time(12), break_until=time(14))
    assert crews_since(business_day()).usual["press"] == 2 * 150 / 480


def test_nobody_works_longer_than_the_shop(crew: User) -> None:
    StationCrew.objects.create(station=Station.PRESS, people=2, minutes_a_day=1440)
    assert crews_since(business_day()).usual["press"] == 2.0


def test_minutes_a_day_in_a_shop_that_never_opens_leave_a_whole_person(crew: User) -> None:
    assert working_minutes([]) == 0.0
    OpeningHours.objects.all().delete()
    StationCrew.objects.create(station=Station.PRESS, people=2, minutes_a_day=150)
    assert crews_since(business_day()).usual["press"] == 2.0


def test_a_day_of_no_minutes_is_refused_by_the_table(crew: User) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        StationCrew.objects.create(station=Station.PRESS, minutes_a_day=0)


def test_the_owner_sets_minutes_a_day_and_clears_them(boss: Client) -> None:
    boss.post("/shop/hours/", {**CREWS, "crew-press": "1.5", "minutes-press": "240"})
    row = StationCrew.objects.get(station="press")
    assert (row.people, row.minutes_a_day) == (Decimal("1.5"), 240)
    page = flat(boss.get("/shop/hours/").content.decode())
    assert 'name="minutes-press" value="240"' in page
    assert 'name="crew-press" value="1.5"' in page
    boss.post("/shop/hours/", {**CREWS, "minutes-press": ""})
    assert StationCrew.objects.get(station="press").minutes_a_day is None


@pytest.mark.parametrize("end", ["break_from", "break_until"])
def test_a_break_with_one_end_is_refused_by_the_table(crew: User, end: str) -> None:
    """SQL lets a condition pass that is neither true nor false, as a comparison with NULL is."""
    with pytest.raises(IntegrityError), transaction.atomic():
        OpeningHours.objects.filter(weekday=2).update(**{end: time(12)})


@pytest.mark.parametrize("typed", ["0", "1441", "-5", "four", "1.5"])
def test_minutes_that_no_day_has_are_refused(boss: Client, typed: str) -> None:
    answer = boss.post("/shop/hours/", {**CREWS, "minutes-press": typed})
    assert answer.status_code == 422
    page = flat(answer.content.decode())
    assert "Press: " in page
    assert f'name="minutes-press" value="{typed}"' in page
    assert not StationCrew.objects.filter(station="press").exists()


# Programmes of one machine


def test_a_machine_runs_only_the_programmes_ticked(crew: User) -> None:
    old, new = building.make_machine("Old washer"), building.make_machine("New washer")
    gentle = Programme.objects.filter(kind="washer", key__in=["wool_30", "delicate_30"])
    save_machine(old, gentle)
    every = set(Programme.objects.filter(kind="washer").values_list("key", flat=True))
    assert _programmes() == {"Old washer": {"wool_30", "delicate_30"}, "New washer": every}
    save_machine(old)
    assert _programmes()["Old washer"] == {"wool_30", "delicate_30"}
    save_machine(old, [])
    assert _programmes() == {"Old washer": every, new.name: every}


def _programmes() -> dict[str, set[str]]:
    machines = read_machinery(Station.WASH, timezone.now()).in_use
    return {machine.key: {station.key for station in machine.programmes} for machine in machines}


def test_a_load_goes_to_the_machine_that_has_its_programme(crew: User) -> None:
    old = building.make_machine("A washer")
    building.make_machine("B washer")
    save_machine(old, Programme.objects.filter(kind="washer", key="wool_30"))
    shirt = building.make_ticket(crew, [building.shirt(stains=[])]).pieces.get()
    building.work_until(shirt, Station.WASH, crew)
    [proposal] = proposals.floor(Station.WASH, timezone.now()).proposals
    assert (proposal.machine.name, proposal.programme.key) == ("B washer", "cotton_60")


def test_a_programme_of_another_kind_is_refused(crew: User) -> None:
    washer = building.make_machine()
    building.make_machine("Dryer", "dryer")
    tumble = Programme.objects.filter(kind="dryer").first()
    assert tumble is not None
    with pytest.raises(Refused, match="is a programme of another kind of machine"):
        save_machine(washer, [tumble])
    assert washer.programmes.count() == 0


def test_the_owner_ticks_programmes_on_the_page_of_the_machine(boss: Client) -> None:
    washer = building.make_machine()
    wool = Programme.objects.get(kind="washer", key="wool_30")
    sent = {
        "name": washer.name,
        "kind": "washer",
        "litres": "100",
        "spin_g": "0",
        "turnaround": "10",
        "most_pieces": "0",
        "in_use": "on",
        "only": [str(wool.pk)],
    }
    assert boss.post(f"/shop/machines/{washer.pk}/", sent).status_code == 302
    assert list(washer.programmes.all()) == [wool]
    assert "only Wool 30" in " ".join(boss.get("/shop/machines/").content.decode().split())
    sent["only"] = ["999999"]
    assert boss.post(f"/shop/machines/{washer.pk}/", sent).status_code == 422
    assert list(washer.programmes.all()) == [wool]
