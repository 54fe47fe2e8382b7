"""Which process serves the piece, and where: chosen from the combined limits and the shop."""

from __future__ import annotations

from dataclasses import dataclass

from care_rules.gather import Gather
from care_rules.labels import CLEANING, Reading
from care_rules.limits import HAND_ONLY, HOTTEST_WATER, SOLVENT_SETS, SOLVENTS, WASH_C, WET
from care_rules.vocabulary import SPECIALISTS, Facts, ShopAbilities

IN_HOUSE, SEND_OUT = "in_house", "send_out"


@dataclass(frozen=True, slots=True)
class Process:
    """``name`` is "none" when nothing is to be cleaned or nothing may be done."""

    name: str = "none"
    where: str = IN_HOUSE
    solvents: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    #: who takes it, where the name is "specialist"
    specialist: str | None = None


NOTHING = Process()
#: The tables whose rows say what a piece is, not what stands on it.
_MAKE = frozenset({"kinds", "constructions"})
#: The processes that wet a piece through.
WATER = ("machine_wash", "hand_wash", "wet_clean")


def choose(facts: Facts, reading: Reading, gather: Gather, severity: list[int]) -> Process | None:
    """The process for a piece that is to be cleaned, or None when a dead end is reached.

    Stated before unstated, then water before solvent. A specialist or a surface clean serves
    only where the other rules leave a way open, or where the label, the kind or the make of the
    piece names it: so nothing that is added to a piece can turn a dead end into a way. A way that
    the label names and that is closed all the same takes no piece from its specialist.
    """
    ways = open_ways(severity, facts.shop)
    if ways:
        return min(ways, key=lambda way: _order(way, reading))
    special: dict[str, set[str]] = {}
    for _key, _pairs, row in gather.rules:
        if row.only:
            special.setdefault(row.only, set()).add(row.key)
    if not special:
        return None
    rules = gather.tables.rules
    keys = tuple(sorted({key for served in special.values() for key in served}))
    named = reading.specialist or reading.surface
    if not named and not any(rules[key].table in _MAKE for key in keys):
        others = gather.tally(facts.overrides, without_special=True)
        if not open_ways(others.severity, facts.shop):
            return None
    if "specialist" in special:
        if "leather" in facts.shop.send_out:
            asked = {rules[key].whom or "leather" for key in special["specialist"]}
            whom = next(name for name in SPECIALISTS if name in asked)
            return Process("specialist", SEND_OUT, (), keys, whom)
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
