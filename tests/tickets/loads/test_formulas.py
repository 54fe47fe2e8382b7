"""Moisture, minutes, litres and kilowatt hours against published figures and plain physics."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal

import pytest

from tickets.loads import formulas
from tickets.shop.face import Prices
from tickets.shop.figures import figure, figures, number
from tickets.shop.machine_facts import MachineFacts, dryer_programmes, usual_programmes


@pytest.mark.parametrize(("diameter_mm", "rpm"), [(600, 1000), (762, 750), (914.4, 500)])
def test_spin_force_is_that_of_turning_bodies(diameter_mm: float, rpm: float) -> None:
    """Physics: a = w^2 r, in units of standard gravity (9.80665 m/s2, CGPM 1901)."""
    omega = 2 * math.pi * rpm / 60
    expected = omega**2 * (diameter_mm / 2000) / 9.80665
    assert formulas.spin_g(diameter_mm, rpm).value == pytest.approx(expected, rel=0.001)


def test_spin_force_agrees_with_the_trade_formula_in_inches() -> None:
    """The trade note's form: inches times rpm squared, over 70,500 (read)."""
    assert formulas.spin_g(36 * 25.4, 600).value == pytest.approx(36 * 600**2 / 70_500, rel=0.002)


@pytest.mark.parametrize(("g", "left"), [(100, 0.98), (350, 0.65)])
def test_terry_keeps_the_water_that_the_trade_article_measured(g: float, left: float) -> None:
    """Trade article on moisture retention in commercial laundries, 2017: 98 and 65 % (read)."""
    assert formulas.moisture_left("terry", g).value == pytest.approx(left, abs=0.005)


@pytest.mark.parametrize(
    ("cloth", "g", "left"),
    [
        ("cotton_white", 100, 0.80),
        ("cotton_white", 350, 0.50),
        ("polycotton", 350, 0.40),
        ("polyester", 100, 0.30),
        ("polyester", 350, 0.15),
        ("wool_silk", 100, 0.60),
    ],
)
def test_other_cloths_keep_their_rows_figures(cloth: str, g: float, left: float) -> None:
    """Common practice, no source: the curve must pass through the two figures it is drawn from."""
    assert formulas.moisture_left(cloth, g).value == pytest.approx(left, abs=1e-9)


def test_a_faster_spin_never_leaves_more_water_and_gains_nothing_above_400_g() -> None:
    for cloth in ("terry", "cotton_white", "polycotton", "polyester", "wool_silk"):
        left = [formulas.moisture_left(cloth, g).value for g in range(80, 600, 20)]
        assert left == sorted(left, reverse=True)
        assert formulas.moisture_left(cloth, 400) == formulas.moisture_left(cloth, 900)
    assert formulas.moisture_left("terry", 0).value == 2.5


def test_the_evaporation_rate_is_that_of_the_workwear_test_dryer() -> None:
    """ISO 15797 clause 5 (read): 45 litres an hour, +-20 %, for 600 to 720 litres of drum."""
    for litres in (600, 660, 720):
        assert 45 * 0.8 <= formulas.EVAPORATION * litres <= 45 * 1.2


def test_drying_minutes_follow_the_formula_by_hand() -> None:
    """27 kg of terry at 65 % down to 8.5 % in a 680 litre drum.

    By hand: 15.255 kg of water over 46.24 litres an hour is 19.8 minutes, and 12.5 for warming
    up and cooling down: 32.3. The trade column of May 2012 (read) tells of 40 minutes for terry
    and 30 to 35 for flatwork in like machines, so the estimate is of the right size.
    """
    minutes = formulas.drying_minutes(27, 0.65, 0.085, 680)
    assert minutes.value == pytest.approx(60 * 27 * 0.565 / (0.068 * 680) + 12.5)
    assert minutes.value == pytest.approx(32.3, abs=0.05)
    slow = formulas.drying_minutes(27, 0.65, 0.085, 680, "heatpump")
    assert slow.value - 12.5 == pytest.approx(2 * (minutes.value - 12.5))


def test_drying_energy_lies_above_the_heat_of_evaporation() -> None:
    """The US household test load, 3.83 kg from 57.5 % to 2 % (10 CFR 430 B D2, from memory).

    Steam tables (from memory): about 0.67 kWh for a kilogram of water. A heat pump gets below
    that floor because it takes the heat back; the Ecova paper of 2014 (read) says 50 to 60 % less.
    """
    water = formulas.water_to_dry(3.83, 0.575, 0.02).value
    assert water == pytest.approx(2.126, abs=0.001)
    vented, pump = formulas.drying_kwh(water).value, formulas.drying_kwh(water, "heatpump").value
    assert vented > water * number("dry.latent_heat")
    assert 0.4 <= pump / vented <= 0.5


def test_heating_water_is_specific_heat_times_mass_times_kelvin() -> None:
    """c of water 4.186 kJ/(kg K): 100 litres by 48 K is 20,093 kJ, that is 5.58 kWh."""
    kwh = formulas.heating_kwh(0, 100, 60, 12).value
    assert kwh == pytest.approx(100 * 4.186 * 48 / 3600, rel=0.001)
    assert formulas.heating_kwh(0, 100, 60, 12, 0.85).value == pytest.approx(kwh / 0.85)
    assert formulas.heating_kwh(10, 0, 60, 10).value == pytest.approx(10 * 1.3 * 50 / 3600)
    assert formulas.heating_kwh(10, 40, 10, 12).value == 0


def test_a_wash_run_sums_up_with_its_sources_and_its_price() -> None:
    sums = formulas.wash_sums(10, 60, gentle=False)
    assert sums.litres.value == 150
    assert sums.kwh.value == pytest.approx(40 * 1.163 * 48 / 1000 + 10 * 1.3 * 48 / 3600)
    assert sums.kwh.sure == "memory"
    assert {row for row, _, _ in sums.kwh.sources} == {
        "heat.water.formula",
        "heat.cloth.formula",
        "water.dip_ratio.low",
    }
    prices = Prices(Decimal("4.00"), Decimal("0.30"))
    assert formulas.cost(150, 2.41, prices) == Decimal("1.32")


def test_rated_kilograms_are_a_tenth_of_the_litres() -> None:
    """EN 17116-4:2020, scope: a 400 dm3 cage is equated with 40 kg (read)."""
    assert 400 / number("load.ratio.cotton_white") == 40


def test_a_drum_for_ten_kilograms_of_cotton_holds_seven_of_polyester() -> None:
    """Trade article of September 2025 on the ISO rating clause (read)."""
    assert 100 / number("load.ratio.polyester") == pytest.approx(7, abs=0.01)


def test_every_figure_has_a_source_and_a_status() -> None:
    for row in figures().values():
        assert row.source
        assert row.status in ("read", "practice", "memory")


def test_the_usual_programmes_take_the_tables_minutes_and_the_looser_of_cloth_and_bars() -> None:
    by_key = {p.key: p for p in (*usual_programmes(), *dryer_programmes())}
    assert by_key["cotton_60"].minutes == number("time.wash.cotton_60") == 55
    assert by_key["delicate_30"].litres_per_kg == number("load.ratio.delicate") == 20
    assert by_key["wool_30"].litres_per_kg == number("load.ratio.two_bars") == 30
    assert number("load.ratio.wool_silk") == 25


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: formulas.spin_g(0, 800), "drum diameter in mm, 0: give a number above 0"),
        (lambda: formulas.drying_kwh(1, "gas"), "dryer 'gas': use one of vented, heatpump"),
        (lambda: figure("load.none"), "figures.csv holds no row 'load.none'"),
        (lambda: MachineFacts("w", "washer", 0, usual_programmes()), "machine 'w'"),
    ],
)
def test_a_wrong_figure_is_refused_with_its_cure(call: object, says: str) -> None:
    with pytest.raises(ValueError, match=r"give|use|holds") as caught:
        call()  # type: ignore[operator]
    assert says in str(caught.value)


@pytest.mark.parametrize(
    "call",
    [
        lambda: formulas.moisture_left("terry", -1),
        lambda: formulas.spin_g(600, -1),
        lambda: formulas.spin_g(-1, 600),
        lambda: formulas.drying_minutes(1, 0.5, 0.1, 0),
        lambda: formulas.heating_kwh(1, 10, 60, efficiency=0),
    ],
)
def test_no_figure_of_physics_lies_below_zero(call: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match="give a number above 0"):
        call()


def test_a_drum_that_stands_still_has_no_force() -> None:
    assert formulas.spin_g(600, 0).value == 0
