"""What a load's estimates stand on, in sentences: each with its unit, its source and how sure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tickets.loads import formulas
from tickets.loads.estimates import USUAL_SPIN_G, regain_of
from tickets.loads.items import LoadItem
from tickets.models import Machine
from tickets.shop.machine_facts import TUMBLE, ProgrammeFacts

_CLOTH = {
    "cotton_white": gettext_lazy("white cotton"),
    "coloured_cotton": gettext_lazy("coloured cotton"),
    "polycotton": gettext_lazy("polyester and cotton"),
    "polyester": gettext_lazy("polyester"),
    "denim": gettext_lazy("denim"),
    "delicate": gettext_lazy("delicate cloth"),
    "wool_silk": gettext_lazy("wool and silk"),
    "terry": gettext_lazy("terry"),
    "duvet_filled": gettext_lazy("filled pieces"),
}

_SURE = {
    "read": gettext_lazy("read"),
    "practice": gettext_lazy("practice"),
    "memory": gettext_lazy("from memory"),
}


@dataclass(frozen=True)
class Basis:
    """One sentence with figures, and for each figure's row its source and how sure it is."""

    says: str
    sources: tuple[str, ...]


def basis_of(
    pieces: Sequence[LoadItem], programme: ProgrammeFacts, machine: Machine, washer_g: float
) -> list[Basis]:
    """How the minutes, litres and kWh of this run are reckoned; empty for a solvent machine."""
    if not pieces or programme.process == "dry_clean":
        return []
    if programme.process == TUMBLE:
        return list(_drying(pieces, machine, washer_g or USUAL_SPIN_G))
    return list(_washing(pieces, programme, machine))


def _washing(
    pieces: Sequence[LoadItem], programme: ProgrammeFacts, machine: Machine
) -> Iterable[Basis]:
    kilograms = sum(piece.grams for piece in pieces) / 1000
    gentle = programme.action > 0
    efficiency = formulas.GAS_EFFICIENCY if machine.gas else 1.0
    bath = formulas.bath_litres(kilograms, gentle)
    sums = formulas.wash_sums(kilograms, programme.heat, gentle, efficiency=efficiency)
    yield Basis(
        _("Minutes: %(minutes)d, as the shop set them for this programme.")
        % {"minutes": programme.minutes},
        (),
    )
    yield Basis(
        _("Water: %(litres)s litres for %(kg)s kg dry, rinses included.")
        % {"litres": _said(sums.litres.value), "kg": _said(kilograms)},
        _sources(sums.litres),
    )
    yield Basis(
        _("Energy: %(kwh)s kWh to heat a bath of %(litres)s litres from 12 to %(heat)d °C.")
        % {
            "kwh": _said(sums.kwh.value, 2),
            "litres": _said(bath.value),
            "heat": max(12, programme.heat),
        },
        _sources(sums.kwh),
    )


def _drying(pieces: Sequence[LoadItem], machine: Machine, washer_g: float) -> Iterable[Basis]:
    grams: dict[str, int] = defaultdict(int)
    for piece in pieces:
        grams[piece.cloth] += piece.grams
    water = 0.0
    for cloth, weight in sorted(grams.items()):
        left, kept = formulas.moisture_left(cloth, washer_g), regain_of(cloth)
        out = formulas.water_to_dry(weight / 1000, left.value, kept.value)
        water += out.value
        yield Basis(
            _(
                "%(cloth)s, %(kg)s kg dry: %(left)s %% of the dry weight is water after a spin of "
                "%(g)s G; dried to %(kept)s %%, %(out)s litres go."
            )
            % {
                "cloth": str(_CLOTH[cloth]).capitalize(),
                "kg": _said(weight / 1000),
                "left": _said(100 * left.value, 0),
                "g": _said(washer_g, 0),
                "kept": _said(100 * kept.value),
                "out": _said(out.value),
            },
            _sources(left, kept, out),
        )
    dryer = "heatpump" if machine.heat_pump else "vented"
    minutes = formulas.drying_minutes(1.0, water, 0.0, float(machine.litres), dryer)
    yield Basis(
        _("Minutes: %(minutes)s to take %(water)s litres out, with warming up and cooling down.")
        % {"minutes": _said(minutes.value, 0), "water": _said(water)},
        _sources(minutes),
    )
    energy = formulas.drying_kwh(water, dryer)
    yield Basis(_("Energy: %(kwh)s kWh.") % {"kwh": _said(energy.value, 2)}, _sources(energy))


def _sources(*estimates: formulas.Estimate) -> tuple[str, ...]:
    """Source and standing of each row, each once."""
    rows = [row for estimate in estimates for row in estimate.sources]
    return tuple(dict.fromkeys(f"{source} ({_SURE[status]})" for _key, source, status in rows))


def _said(value: float, places: int = 1) -> str:
    return number_format(round(value, places), decimal_pos=places)
