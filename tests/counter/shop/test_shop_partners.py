"""The owner's pages of partners, presses, and of what water and energy cost."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from counter.models import Shop
from tests.building import make_machine, work_until
from tests.tickets.floor import at_wash, running, text_of, white
from tickets.choices import Station
from tickets.loads import formulas
from tickets.loads.estimates import running_cost
from tickets.models import Load, Machine, Partner, Programme
from tickets.shop.face import shop_face

pytestmark = pytest.mark.django_db
D = Decimal


PARTNER = {
    "name": "Rowan Vale Cleaning",
    "services": ["dry_clean", "wet_clean"],
    "collect_days": ["0", "3"],
    "collect_at": "11:00",
    "days_away": "2",
    "return_days": ["2"],
    "return_at": "15:30",
    "in_use": "on",
}


def test_a_partner_is_added_and_changed(office: Client) -> None:
    assert office.post("/shop/partners/", PARTNER).status_code == 302
    row = Partner.objects.get(name="Rowan Vale Cleaning")
    assert (row.services, row.collect_days, row.return_days) == (
        ["dry_clean", "wet_clean"],
        [0, 3],
        [2],
    )
    page = text_of(office.get("/shop/partners/"))
    assert "Name Takes in Picked up Brought back by Packed now" in page
    assert "Monday, Thursday, 11:00 Wednesday, 15:30 · 2 days away back by " in page
    path = f"/shop/partners/{row.pk}/"
    assert "The days count for new promises." in text_of(office.get(path))
    assert re.search(
        r'name="collect_days" value="3"[^>]* checked', office.get(path).content.decode()
    )
    assert office.post(path, {**PARTNER, "days_away": "9", "in_use": ""}).status_code == 302
    row.refresh_from_db()
    assert (row.days_away, row.in_use) == (9, False)
    assert "out of use" in text_of(office.get("/shop/partners/"))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"name": ""}, "This field is required."),
        ({"name": "Partner"}, "Partner with this Name already exists."),
        ({"services": []}, "This field is required."),
        ({"services": ["moon"]}, "Select a valid choice. moon"),
        ({"collect_days": ["9"]}, "Select a valid choice. 9"),
        ({"collect_at": "noon"}, "Enter a valid time."),
        ({"days_away": "61"}, "less than or equal to 60"),
    ],
)
def test_a_wrong_partner_is_named_and_not_saved(
    office: Client, changes: dict[str, object], says: str
) -> None:
    answer = office.post("/shop/partners/", {**PARTNER, **changes})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert Partner.objects.count() == 1


# Presses and ironers


def test_a_press_is_set_up_without_a_drum_or_programmes(office: Client) -> None:
    form = {"name": "Press 1", "kind": "press", "turnaround": "0", "in_use": "on", "spin_g": "0"}
    assert office.post("/shop/machines/", {**form, "most_pieces": "0"}).status_code == 302
    assert (Machine.objects.get().litres, Programme.objects.count()) == (D(0), 0)
    page = text_of(office.get("/shop/machines/"))
    assert "Press 1 Press one person" in page
    assert "Add a programme" not in page
    assert office.get("/shop/programmes/press/new/").status_code == 404


# Cost estimates


def test_a_load_shows_what_it_costs_at_the_shops_prices(office: Client, oz: User) -> None:
    """15 litres and, from 12 to 60 °C, 4 litres of bath a kg (common trade practice): worked out
    here anew by m c dT with 4.186 kJ/(kg K) for water and 1.3 for cloth."""
    make_machine()
    [piece] = at_wash(oz, white())
    piece.weight_g = 2000
    piece.save()
    page = text_of(office.get("/loads/wash/"))
    assert "£" not in page.split("To run now")[1]
    Shop.objects.update(water_price=D("4.00"), power_price=D("0.30"))
    kwh = (2 * 4 * 4.186 + 2 * 1.3) * (60 - 12) / 3600
    pounds = 4.00 * (2 * 15) / 1000 + 0.30 * kwh
    assert round(pounds, 2) == 0.26
    page = text_of(office.get("/loads/wash/"))
    assert "about 55 minutes · 30 litres · 0.48 kWh · £0.26" in page
    assert "All of these together: 30 litres · 0.5 kWh · £0.26" in page
    assert "Minutes, litres, kWh and cost are estimates from trade figures, not measured." in page
    load = running(oz, [piece])
    assert "30 litres · 0.48 kWh · £0.26" in text_of(office.get(f"/load/{load.pk}/"))


def test_gas_counts_its_own_price_and_the_boilers_loss(office: Client, oz: User) -> None:
    """An 85 % boiler burns 1/0.85 of the heat (common trade practice, row heat.water.formula)."""
    machine = make_machine()
    electric = formulas.wash_sums(2.0, 60, gentle=False).kwh.value
    Machine.objects.update(gas=True)
    Shop.objects.update(water_price=D("4.00"), power_price=D("0.30"))
    [piece] = at_wash(oz, white())
    piece.weight_g = 2000
    piece.save()
    load = running(oz, [piece])
    assert float(load.energy_kwh) == round(electric / 0.85, 2)
    machine.refresh_from_db()
    assert running_cost(30.0, 0.5, machine, shop_face().prices) is None  # no price of gas is told
    Shop.objects.update(gas_price=D("0.10"))
    assert running_cost(30.0, 0.5, machine, shop_face().prices) == D("0.17")
    assert re.search(r"kWh · £0[.]18", text_of(office.get(f"/load/{load.pk}/")))


def test_a_dryer_costs_its_energy_alone(office: Client, oz: User) -> None:
    dryer = make_machine("Dryer", "dryer", 200)
    Shop.objects.update(water_price=D("4.00"), power_price=D("0.30"))
    [piece] = at_wash(oz, white())
    work_until(piece, Station.DRY, oz)
    page = text_of(office.get("/loads/dry/"))
    kwh = float(re.search(r"([0-9.]+) kWh", page)[1])  # type: ignore[index]
    assert kwh > 0
    assert running_cost(0.0, kwh, dryer, shop_face().prices) == D(str(round(0.30 * kwh, 2)))
    assert Load.objects.count() == 0
