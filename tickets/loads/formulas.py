"""What a load costs in water, heat, minutes and money: estimates, each with the rows it stands on.

Every result is an ``Estimate``: a planning figure by trade formulas, not a measurement. A meter or
the shop's own timing wins.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from math import log

from tickets.shop.face import Prices
from tickets.shop.figures import FigureError, figure, number

_LEAST_G, _MOST_G = 80.0, 400.0
COOL_MINUTES = 7.5
"""Cool-down at the end of drying: the middle of 5 to 10 minutes (row ``dry.minutes.formula``)."""

WARM_MINUTES = 5.0
KWH_FOR_LITRE_KELVIN = 1.163 / 1000
"""m c dT with c = 4.186 kJ/(kg K): row ``heat.water.formula``."""

GAS_EFFICIENCY = 0.85
"""Share of the gas's heat that reaches the bath: row ``heat.water.formula``."""

CLOTH_KJ = 1.3
"""kJ for a kilogram of dry cloth and a kelvin: row ``heat.cloth.formula``."""

EVAPORATION = 0.068
"""Litres an hour for each litre of a vented dryer's drum: row ``dry.evap_rate_test``."""

DRYERS = ("vented", "heatpump")


@dataclass(frozen=True)
class Estimate:
    """A value with its unit and the keys of the figures it was made from."""

    value: float
    unit: str
    rows: tuple[str, ...]

    @property
    def sources(self) -> tuple[tuple[str, str, str], ...]:
        """(row, source, status) of each row, for the page that shows the estimate."""
        figures = (figure(key) for key in self.rows)
        return tuple((row.key, row.source, row.status) for row in figures)

    @property
    def sure(self) -> str:
        """The weakest status among the rows: memory, then practice, then read."""
        statuses = {status for _, _, status in self.sources}
        return next(word for word in ("memory", "practice", "read") if word in statuses)


def spin_g(drum_mm: float, rpm: float) -> Estimate:
    """Centrifugal G of a drum of that diameter in millimetres at that speed."""
    _positive("drum diameter in mm", drum_mm)
    _positive("turns a minute", rpm, zero=True)
    return Estimate(number("spin.g.formula") * drum_mm * rpm**2, "G", ("spin.g.formula",))


def moisture_left(cloth: str, g: float) -> Estimate:
    """Water left after the spin, as a share of the dry weight.

    Between the two figures of a cloth (100 and 350 G) a power curve is drawn, as the table does
    for terry; outside 80 to 400 G the nearest end is taken, since the curve is not known there.
    No spin (0 G) gives the soaked figure. Wool has one figure, for its short low spin.
    """
    _positive("G of the spin", g, zero=True)
    if g == 0:
        return Estimate(number("spin.rmc.none") / 100, "share", ("spin.rmc.none",))
    kind = spin_cloth(cloth)
    held = min(max(g, _LEAST_G), _MOST_G)
    if kind == "wool":
        return Estimate(number("spin.rmc.wool.100G") / 100, "share", ("spin.rmc.wool.100G",))
    if kind == "terry":
        factor, power = figure("spin.rmc.terry.formula").value.split("*G^")
        value = float(factor) * held ** float(power)
        return Estimate(value, "share", ("spin.rmc.terry.formula", "spin.useful_ceiling"))
    rows = (f"spin.rmc.{kind}.100G", f"spin.rmc.{kind}.350G")
    slow, fast = (number(row) / 100 for row in rows)
    # Through (100, slow) and (350, fast): slow * (G/100)^p.
    value = slow * (fast / slow) ** (log(held / 100) / log(3.5))
    return Estimate(value, "share", (*rows, "spin.useful_ceiling"))


def spin_cloth(cloth: str) -> str:
    """The moisture rows that serve a loading cloth; delicate and filled load as plain cotton."""
    return {
        "terry": "terry",
        "polyester": "polyester",
        "polycotton": "polycotton",
        "wool_silk": "wool",
    }.get(cloth, "cotton_sheet")


def regain(fibre: str) -> Estimate:
    """Moisture that dry cloth holds in room air, as a share: stop the dryer there."""
    return Estimate(number(f"regain.{fibre}") / 100, "share", (f"regain.{fibre}",))


def water_to_dry(dry_kg: float, moisture_in: float, moisture_out: float) -> Estimate:
    """Kilograms (litres) of water that drying takes out; none where it is dry enough."""
    return Estimate(dry_kg * max(0.0, moisture_in - moisture_out), "kg", ("weight.wet.formula",))


def drying_minutes(
    dry_kg: float,
    moisture_in: float,
    moisture_out: float,
    drum_litres: float,
    dryer: str = "vented",
) -> Estimate:
    """Minutes in a tumble dryer, warming up and cooling down included."""
    _positive("litres of the dryer's drum", drum_litres)
    rate = EVAPORATION * drum_litres * (1.0 if _dryer(dryer) == "vented" else 0.5)
    water = water_to_dry(dry_kg, moisture_in, moisture_out).value
    minutes = 60 * water / rate + WARM_MINUTES + COOL_MINUTES
    return Estimate(minutes, "minute", ("dry.minutes.formula", "dry.evap_rate_test"))


def drying_kwh(water_kg: float, dryer: str = "vented") -> Estimate:
    """Energy to take that much water out of a load."""
    row = f"dry.energy.{_dryer(dryer)}"
    return Estimate(water_kg * number(row), "kWh", (row,))


def wash_litres(dry_kg: float) -> Estimate:
    """Water of a whole programme, rinses included."""
    return Estimate(dry_kg * number("water.total"), "litre", ("water.total",))


def bath_litres(dry_kg: float, gentle: bool) -> Estimate:
    """Water of the main bath alone, which is what gets heated."""
    row = "water.dip_ratio.high" if gentle else "water.dip_ratio.low"
    return Estimate(dry_kg * number(row), "litre", (row,))


def heating_kwh(
    dry_kg: float, litres: float, to_c: float, from_c: float = 12.0, efficiency: float = 1.0
) -> Estimate:
    """Energy to bring a bath and its cloth from tap water to the programme's temperature.

    ``efficiency`` of the heater: 1.0 electric, about 0.85 for a gas boiler. ``from_c`` is the tap
    water (12 °C by default: common practice, no source; measure your own).
    """
    _positive("efficiency of the heater", efficiency)
    warmer = max(0.0, to_c - from_c)
    water = litres * warmer * KWH_FOR_LITRE_KELVIN / efficiency
    cloth = dry_kg * CLOTH_KJ * warmer / 3600 / efficiency
    return Estimate(water + cloth, "kWh", ("heat.water.formula", "heat.cloth.formula"))


def cost(litres: float, kwh: float, prices: Prices, *, gas: bool = False) -> Decimal | None:
    """Money for that water and energy, to the hundredth; an estimate like what it is made from.

    With ``gas`` the energy is gas; None where the shop has told no price for it.
    """
    kwh_price = prices.gas_kwh if gas else prices.kwh
    if kwh_price is None:
        return None
    money = prices.water_m3 * Decimal(str(litres)) / 1000 + kwh_price * Decimal(str(kwh))
    return money.quantize(Decimal("0.01"), ROUND_HALF_UP)


@dataclass(frozen=True)
class LoadSums:
    """Water and heat of one wash run."""

    litres: Estimate
    kwh: Estimate


def wash_sums(
    dry_kg: float, to_c: float, gentle: bool, from_c: float = 12.0, efficiency: float = 1.0
) -> LoadSums:
    """Litres and kWh of a wash run; only the main bath is heated."""
    bath = bath_litres(dry_kg, gentle)
    heat = heating_kwh(dry_kg, bath.value, to_c, from_c, efficiency)
    return LoadSums(wash_litres(dry_kg), Estimate(heat.value, heat.unit, (*heat.rows, *bath.rows)))


def _dryer(dryer: str) -> str:
    if dryer not in DRYERS:
        raise FigureError(f"dryer {dryer!r}: use one of {', '.join(DRYERS)}")
    return dryer


def _positive(what: str, value: float, zero: bool = False) -> None:
    if value < 0 or (value == 0 and not zero):
        raise FigureError(f"{what}, {value}: give a number above 0")
