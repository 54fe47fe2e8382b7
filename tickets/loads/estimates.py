"""What one run is thought to take: minutes, water and energy. Estimates, not meter readings.

The formulas are ``loads.formulas``; here they meet a run's pieces, its programme and its machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from tickets.loads import formulas
from tickets.loads.items import LoadItem
from tickets.models import Machine
from tickets.shop.face import Prices
from tickets.shop.machine_facts import TUMBLE, ProgrammeFacts

USUAL_SPIN_G = 350.0
"""G of the spin before the dryer where no washer of the shop states its own."""

_FIBRE = {"polyester": "polyester", "wool_silk": "wool"}


@dataclass(frozen=True)
class RunSums:
    """Whole minutes, litres of water and kWh. Water and energy are 0 where no formula serves:
    a dryer takes no water, and for solvent machines the maker's book counts."""

    minutes: int
    water_l: float
    energy_kwh: float


def run_sums(
    pieces: Sequence[LoadItem],
    programme: ProgrammeFacts,
    drum_litres: float,
    *,
    heat_pump: bool = False,
    gas: bool = False,
    spin_g: float = 0.0,
) -> RunSums:
    """Estimates for these pieces in this programme. ``spin_g`` is that of the washer before.

    ``gas``: the machine is heated by gas, and the kWh are those of the gas burnt.
    """
    if programme.process == TUMBLE:
        dryer = "heatpump" if heat_pump else "vented"
        water = sum(_water(piece, spin_g or USUAL_SPIN_G) for piece in pieces)
        minutes = formulas.drying_minutes(1.0, water, 0.0, drum_litres, dryer)
        return RunSums(round(minutes.value), 0.0, formulas.drying_kwh(water, dryer).value)
    if programme.process == "dry_clean":
        return RunSums(programme.minutes, 0.0, 0.0)
    kilograms = sum(piece.grams for piece in pieces) / 1000
    efficiency = formulas.GAS_EFFICIENCY if gas else 1.0
    sums = formulas.wash_sums(
        kilograms, programme.heat, gentle=programme.action > 0, efficiency=efficiency
    )
    return RunSums(programme.minutes, sums.litres.value, sums.kwh.value)


def _water(piece: LoadItem, spin_g: float) -> float:
    """Litres that the dryer takes out of a piece, from the spin down to its natural moisture."""
    left = formulas.moisture_left(piece.cloth, spin_g).value
    kept = regain_of(piece.cloth).value
    return formulas.water_to_dry(piece.grams / 1000, left, kept).value


def regain_of(cloth: str) -> formulas.Estimate:
    """The moisture at which cloth of that sort is dry; cotton's where the table names no fibre."""
    return formulas.regain(_FIBRE.get(cloth, "cotton"))


def running_cost(
    litres: float, kwh: float, machine: Machine, prices: Prices | None
) -> Decimal | None:
    """What that water and energy cost at the shop's own prices; None where it has told none.

    None too for a solvent machine, whose energy no formula gives.
    """
    if prices is None or (not litres and not kwh):
        return None
    return formulas.cost(litres, kwh, prices, gas=machine.gas)
