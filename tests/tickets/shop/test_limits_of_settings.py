"""What lies exactly at a limit of machines, crews, weights and partners, and what is past it."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from counter.shop.services import close_on
from tests import building
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import services as loadbook
from tickets.models import CrewDay, Machine, MachineKind, OpeningHours, Partner, Programme
from tickets.models.machines import NO_DRUM
from tickets.shop import services
from tickets.shop.calendar import business_day
from tickets.shop.queries import shop_grams

pytestmark = pytest.mark.django_db
D = Decimal


def day(ahead: int) -> date:
    return business_day() + timedelta(days=ahead)


def code_of(call: object, *values: object) -> str:
    """The code of the refusal; empty where it is allowed."""
    try:
        call(*values)  # type: ignore[operator]
    except Refused as no:
        return no.code
    return ""


@pytest.mark.parametrize(
    ("people", "first", "last", "code"),
    [
        ("0", 0, 0, ""),
        ("99", 0, 0, ""),
        ("99.1", 0, 0, "bad_crew"),
        ("-0.1", 0, 0, "bad_crew"),
        ("NaN", 0, 0, "bad_crew"),
        ("2", -1, 0, "day_is_past"),
        ("2", 1000, 1000, ""),
        ("2", 1000, 1001, "day_too_far"),
        ("2", 0, 91, ""),
        ("2", 0, 92, "bad_stretch"),
        ("2", 1, 0, "bad_stretch"),
    ],
)
def test_a_crew_of_a_stretch(crew: User, people: str, first: int, last: int, code: str) -> None:
    answers = Station.PRESS, D(people), day(first), day(last)
    assert code_of(services.set_crew_on, *answers) == code
    set_days = CrewDay.objects.filter(station=Station.PRESS).order_by("day")
    days = [day(ahead) for ahead in range(first, last + 1)] if not code else []
    assert [row.day for row in set_days] == days
    assert {row.people for row in set_days} == ({D(people)} if days else set())


def test_the_number_of_days_set_leaves_closed_ones_out(crew: User) -> None:
    close_on(day(1), "")
    assert services.set_crew_on(Station.BENCH, D(3), day(0), day(2)) == 2
    assert services.set_crew_on(Station.BENCH, D(1), day(0), day(2)) == 2  # one is usual
    assert not CrewDay.objects.exists()
    services.set_crew_on(Station.BENCH, D(3), day(0), day(0))
    services.as_usual(CrewDay.objects.get().pk)
    services.as_usual(9_999)
    assert not CrewDay.objects.exists()


@pytest.mark.parametrize(("grams", "code"), [(1, ""), (60_000, ""), (60_001, "bad_weight")])
def test_a_weight(crew: User, grams: int, code: str) -> None:
    assert code_of(services.set_weights, {"shirt_cotton": grams}) == code
    assert shop_grams() == ({} if code else {"shirt_cotton": grams})


def test_weights_are_counted_where_they_change(crew: User) -> None:
    assert services.set_weights({"shirt_cotton": 300, "tshirt": 150, "napkin": None}) == 2
    assert services.set_weights({"shirt_cotton": 310, "tshirt": 150}) == 1
    assert services.set_weights({"shirt_cotton": None, "tshirt": None}) == 2
    assert shop_grams() == {}


@pytest.mark.parametrize("kind", ["press", "ironer"])
def test_a_machine_for_one_person(crew: User, kind: str) -> None:
    machine = building.make_machine("Here", kind, 40, spin_g=300, most_pieces=7, turnaround=4)
    assert (machine.litres, machine.spin_g, machine.most_pieces) == (D(0), 0, 1)
    assert machine.turnaround == 4
    assert not Programme.objects.exists()


@pytest.mark.parametrize("kind", ["rail", "flat"])
def test_a_drying_place(crew: User, kind: str) -> None:
    place = building.make_machine("Here", kind, 40, spin_g=300, most_pieces=1, turnaround=4)
    assert (place.litres, place.spin_g, place.most_pieces, place.turnaround) == (D(0), 0, 1, 0)
    assert not Programme.objects.exists()


@pytest.mark.parametrize(("litres", "code"), [("0", "no_drum"), ("0.1", "")])
def test_a_drum(crew: User, litres: str, code: str) -> None:
    drum = Machine(name="Here", kind="washer", litres=D(litres))
    assert code_of(services.save_machine, drum) == code


def test_a_second_machine_of_a_kind_brings_no_programmes_again(crew: User) -> None:
    building.make_machine("One")
    Programme.objects.exclude(key="cotton_40").delete()
    building.make_machine("Two")
    assert [programme.key for programme in Programme.objects.all()] == ["cotton_40"]


def test_programmes_that_are_not_named_stay_and_none_named_means_all(crew: User) -> None:
    washer = building.make_machine()
    chosen = list(Programme.objects.filter(key__in=["cotton_40", "cotton_60"]))
    services.save_machine(washer, chosen)
    services.save_machine(washer)
    assert {programme.key for programme in washer.programmes.all()} == {"cotton_40", "cotton_60"}
    services.save_machine(washer, [])
    assert washer.programmes.count() == 0


USUAL = """
washer cotton_60 60 no_heat normal normal 55 10.0
washer cotton_40 40 no_heat normal normal 45 10.0
washer sturdy_30 30 no_heat normal normal 45 11.0
washer easycare_40 40 no_heat mild reduced 45 15.0
washer delicate_30 30 no_heat mild reduced 40 20.0
washer wool_30 30 no_heat very_mild reduced 35 30.0
washer cold_no_spin 15 no_heat very_mild none 35 30.0
hand_sink hand_30 30 no_heat very_mild none 15 25.0
hand_sink hand_cold 15 no_heat very_mild none 15 25.0
wet_cleaner wetclean_normal 30 no_heat normal normal 35 15.0
wet_cleaner wetclean_mild 30 no_heat mild reduced 35 20.0
wet_cleaner wetclean_very_mild 30 no_heat very_mild reduced 35 25.0
solvent_p solvent_p_normal 0 no_heat normal normal 50 20.0
solvent_p solvent_p_mild 0 no_heat mild normal 50 20.0
solvent_p solvent_p_very_mild 0 no_heat very_mild normal 50 20.0
solvent_f solvent_f_normal 0 no_heat normal normal 65 20.0
solvent_f solvent_f_mild 0 no_heat mild normal 65 20.0
solvent_f solvent_f_very_mild 0 no_heat very_mild normal 65 20.0
dryer tumble_normal 0 normal normal normal 45 20.0
dryer tumble_low 0 low normal normal 45 20.0
dryer tumble_no_heat 0 no_heat normal normal 45 20.0
"""
"""Kind, key, °C, heat of the air, action, spin, minutes and litres a kilogram: common practice, as
the rows ``time.wash``, ``time.dry`` and ``load.ratio`` of ``figures.csv`` say."""


def test_the_usual_programmes_are_the_trades(crew: User) -> None:
    programmes = [
        programme
        for kind in MachineKind
        if kind not in NO_DRUM
        for programme in services.add_usual_programmes(kind)
    ]
    assert [
        f"{row.kind} {row.key} {row.max_c} {row.tumble} {row.action} {row.spin} "
        f"{row.minutes} {row.litres_per_kg}"
        for row in programmes
    ] == USUAL.strip().splitlines()
    names = {row.key: row.name for row in programmes}
    assert (names["cotton_60"], names["wetclean_very_mild"]) == ("Cotton 60", "Wetclean very mild")


def test_a_machine_with_a_load_stays_in_use_until_it_is_emptied(crew: User) -> None:
    washer = building.make_machine()
    load = loadbook.open_load(washer.pk, [], Act(by=crew)).load
    washer.in_use = False
    assert code_of(services.save_machine, washer) == "machine_busy"
    loadbook.undo(load.pk, Act(by=crew))
    assert code_of(services.save_machine, washer) == ""
    assert not Machine.objects.get().in_use


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("Cool & quick", "cool_quick"),
        ("Öko 30", "ko_30"),
        ("漢字", "programme"),
        ("x" * 40, "x" * 32),
        ("Cotton 40", "cotton_40_2"),
    ],
)
def test_the_key_of_a_programme_is_made_from_its_name(crew: User, name: str, key: str) -> None:
    building.make_machine()
    figures = {"max_c": 30, "minutes": 30, "litres_per_kg": D(10)}
    programme = services.save_programme(Programme(kind="washer", name=name, **figures))
    assert programme.key == key
    assert services.save_programme(programme).key == key
    again = services.save_programme(Programme(kind="washer", name=name, **figures))
    assert again.key == (f"{key}_2" if key[-2:] != "_2" else "cotton_40_3")


def test_a_partner_comes_on_one_open_day_at_least(crew: User) -> None:
    OpeningHours.objects.filter(weekday__in=[5, 6]).delete()
    for field in ("collect_days", "return_days"):
        for days, code in (([5, 6], "partner_never"), ([4, 5], ""), ([], "")):
            partner = Partner.objects.get()
            setattr(partner, field, days)
            assert code_of(services.save_partner, partner) == code
            setattr(partner, field, [])
            services.save_partner(partner)
    OpeningHours.objects.all().delete()
    partner = Partner.objects.get()
    partner.collect_days = [6]
    assert code_of(services.save_partner, partner) == ""  # nobody has said when it is open
