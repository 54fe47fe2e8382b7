"""Which process serves the piece, and where: chosen from the combined limits and the shop."""

from __future__ import annotations

from dataclasses import dataclass

from care_rules.gather import Gather
from care_rules.labels import CLEANING, Reading
from care_rules.limits import HAND_ONLY, HOTTEST_WATER, SOLVENT_SETS, SOLVENTS, WASH_C, WET
from care_rules.materials import Materials
from care_rules.vocabulary import Facts, ShopAbilities

IN_HOUSE, SEND_OUT = "in_house", "send_out"


@dataclass(frozen=True, slots=True)
class Process:
    """``name`` is "none" when nothing is to be cleaned or nothing may be done."""

    name: str = "none"
    where: str = IN_HOUSE
    solvents: tuple[str, ...] = ()
    because: tuple[str, ...] = ()


NOTHING = Process()


def choose(
    facts: Facts, reading: Reading, materials: Materials, gather: Gather, severity: list[int]
) -> Process | None:
    """The process for a piece that is to be cleaned, or None when a dead end is reached.

    Stated before unstated, then water before solvent. A specialist or a surface clean serves
    only where the other rules leave a way open, where all of the shell needs it, or where the
    label names it: so no added rule can turn a dead end into a way.
    """
    ways = open_ways(severity, facts.shop)
    if ways:
        return min(ways, key=lambda way: _order(way, reading))
    special = {row.only for _, _, row in gather.rules if row.only}
    if not special:
        return None
    named = reading.specialist or reading.surface
    shell = materials.shell
    if named or (shell and all(row.only for row in shell)):
        pass
    elif not open_ways(gather.tally(facts.overrides, without_special=True).severity, facts.shop):
        return None
    keys = tuple(sorted({row.key for _, _, row in gather.rules if row.only}))
    if "specialist" in special:
        if "leather" in facts.shop.send_out:
            return Process("specialist", SEND_OUT, (), keys)
        return None
    return Process("surface_clean", IN_HOUSE, (), keys)


def open_ways(severity: list[int], shop: ShopAbilities) -> list[Process]:
    """Every process that the limits and the shop's abilities leave open."""
    ways = []
    if severity[WASH_C] < HOTTEST_WATER:
        ways.append(Process("hand_wash" if severity[HAND_ONLY] else "machine_wash"))
    if not severity[WET]:
        if shop.wet_cleaning:
            ways.append(Process("wet_clean"))
        elif "wet_clean" in shop.send_out:
            ways.append(Process("wet_clean", SEND_OUT))
    allowed = SOLVENT_SETS[severity[SOLVENTS]]
    if allowed != "none":
        here = tuple(solvent for solvent in shop.dry_cleaning if solvent in allowed)
        if here:
            ways.append(Process("dry_clean", IN_HOUSE, tuple(sorted(here))))
        elif "dry_clean" in shop.send_out:
            ways.append(Process("dry_clean", SEND_OUT, tuple(sorted(allowed))))
    return ways


def named_ways(ways: list[Process], reading: Reading) -> list[Process]:
    """The ways of groups that the label speaks of; all of them where it speaks of none."""
    if not any(map(reading.states, CLEANING)):
        return ways
    return [way for way in ways if reading.states(_GROUPS[way.name][0])]


_GROUPS = {
    "machine_wash": ("wash", 0),
    "hand_wash": ("wash", 0),
    "wet_clean": ("wet_clean", 1),
    "dry_clean": ("dry_clean", 2),
}


def _order(way: Process, reading: Reading) -> tuple[bool, int]:
    group, place = _GROUPS[way.name]
    return (not reading.states(group), place)
