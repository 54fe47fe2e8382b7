"""Fibres, colour, trims, stains, damage and hazards of a piece: each lets its rules speak."""

from __future__ import annotations

from dataclasses import dataclass, field

from care_rules.gather import Gather
from care_rules.labels import CLEANING, Reading
from care_rules.limits import (
    AXIS_BIT,
    BLEACH,
    DRY_ACTION,
    IRON_C,
    SOLVENTS,
    STEAM,
    TUMBLE,
    WASH_ACTION,
    WASH_C,
    WET,
    WET_ACTION,
    Tally,
)
from care_rules.tables import Row
from care_rules.vocabulary import Component, Facts

#: Where a label harsher than the material is worth a warning, and how to call it.
_COMPARED = {
    WASH_C: "water temperature",
    WASH_ACTION: "wash action",
    BLEACH: "bleach",
    TUMBLE: "tumble drying",
    IRON_C: "iron temperature",
    STEAM: "steam",
    SOLVENTS: "solvent",
    DRY_ACTION: "dry cleaning action",
    WET: "wet cleaning",
    WET_ACTION: "wet cleaning action",
}
_UNKNOWN = "unknown"
_UNNAMED = "other_fibres"


@dataclass(slots=True)
class Materials:
    """What the route needs to know of the materials besides their limits."""

    fibres: list[Row] = field(default_factory=list)
    shell: list[Row] = field(default_factory=list)
    removed: list[Row] = field(default_factory=list)
    stains: list[Row] = field(default_factory=list)
    damage: list[Row] = field(default_factory=list)
    tests: list[Row] = field(default_factory=list)
    banned_agents: frozenset[str] = frozenset()
    watch_heat: list[str] = field(default_factory=list)
    colour_group: str = _UNKNOWN


def read_materials(facts: Facts, reading: Reading, gather: Gather) -> Materials:
    """Add the rules of everything the piece is made of, carries or has suffered."""
    found = Materials()
    _fibres(facts, reading, gather, found)
    _compare(gather, reading, facts, found.fibres, "label.harsher_than_fibre")
    _colour(facts, gather, found)
    trims = _trims(facts, gather, found)
    _compare(gather, reading, facts, trims, "label.harsher_than_trim")
    _stains(facts, gather, found)
    tables = gather.tables
    kind = tables["kinds"][facts.kind]
    if kind.pairs:
        gather.take(kind, kind.pairs)
    for hazard in kind.hazards:
        gather.hazard(hazard, kind.key)
    for key in sorted(facts.damage):
        row = tables["damage"][key]
        gather.take(row, row.pairs)
        gather.warn(row.key)
        found.damage.append(row)
    for key in sorted(facts.hazards):
        gather.hazard(key)
    _wearer(facts, gather)
    return found


def _fibres(facts: Facts, reading: Reading, gather: Gather, found: Materials) -> None:
    table = gather.tables["fibres"]
    seen: dict[str, Row] = {}
    shell: dict[str, Row] = {}
    unknown = not facts.components
    for component in facts.components:
        if not component.fibres:
            unknown = True
        for share in component.fibres:
            row = table[share.fibre]
            seen[share.fibre] = row
            if component.part == "shell":
                shell[share.fibre] = row
        _shares(component, gather)
    if unknown:
        seen[_UNKNOWN] = table[_UNKNOWN]
    found.fibres = [row for _, row in sorted(seen.items())]
    found.shell = [row for _, row in sorted(shell.items())]
    banned: set[str] = set()
    for row in found.fibres:
        gather.take(row, row.pairs)
        for hazard in row.hazards:
            gather.hazard(hazard, row.key)
        if row.cells["ask"]:
            gather.warn(row.key, level=row.cells["ask"])
        banned |= gather.tables.agent_bans.get(row.bare, frozenset())
    found.banned_agents = frozenset(banned)
    if _UNKNOWN in seen:
        gather.warn("composition.unknown", because=("composition.unknown", seen[_UNKNOWN].key))
    if any(map(reading.states, CLEANING)) or reading.specialist:
        return
    if _UNKNOWN in seen:
        gather.warn("composition.nothing_known")
    felting = [row for key, row in sorted(seen.items()) if row.flag("felts") and key != _UNKNOWN]
    if felting and "clean" in facts.services:
        gather.warn(
            "label.silent_on_felting",
            because=("label.silent_on_felting", *(row.key for row in felting)),
        )


def _shares(component: Component, gather: Gather) -> None:
    """The sums of one part (composition rules): notes to read the label again."""
    fibres = component.fibres
    if not fibres:
        return
    if len({share.fibre for share in fibres}) < len(fibres):
        gather.warn("composition.duplicate")
    unnamed = sum(share.percent or 0 for share in fibres if share.fibre == _UNNAMED)
    if unnamed > 15:
        gather.warn("composition.other_fibres")
    if unnamed > 5:
        gather.warn("composition.some_other_fibres")
    total = 0.0
    for share in fibres:
        if share.percent is None:
            return
        total += share.percent
    gap = abs(total - 100)
    if gap > 1.000001:
        text = f"The shares of the {component.part} add up to {total:g} percent."
        gather.warn("composition.total", text)
    if gap > 0.000001:
        gather.warn("composition.rounding")


def _colour(facts: Facts, gather: Gather, found: Materials) -> None:
    row = gather.tables["colours"][facts.colour]
    gather.take(row, row.pairs)
    if row.level not in ("", "info"):
        gather.warn(row.key)
    if row.flag("test") and not facts.colour_tested:
        found.tests.append(row)
    found.colour_group = row.cells["load_group"] or _UNKNOWN


def _trims(facts: Facts, gather: Gather, found: Materials) -> list[Row]:
    trims, colours = gather.tables["trims"], gather.tables["colours"]
    binding = []
    for key in sorted(facts.trims):
        row = trims.get(key) or colours[key]
        gather.warn(row.key)
        if row.flag("remove"):
            found.removed.append(row)
        if row.flag("lifts"):
            continue
        binding.append(row)
        gather.take(row, row.pairs)
        for hazard in row.hazards:
            gather.hazard(hazard, row.key)
        if row.flag("test"):
            found.tests.append(row)
        if row.flag("wet_check"):
            found.watch_heat.append(row.key)
        if row.cells.get("load_group"):
            found.colour_group = row.cells["load_group"]
    making = gather.tables["constructions"][facts.construction]
    gather.take(making, making.pairs)
    return binding


def _stains(facts: Facts, gather: Gather, found: Materials) -> None:
    for key in sorted(facts.stains):
        row = gather.tables["stains"][key]
        gather.take(row, row.pairs)
        heat, skilled = row.flag("heat_sets"), row.flag("professional")
        says = f"{row.bare[0].upper()}{row.bare[1:]}: {row.cells['first_aid']}"
        if skilled:
            says += " For a trained spotter; it may stay."
        never = f"Never: {row.cells['never_says']}."
        gather.warn(row.key, says, level="caution" if heat or skilled else "info", do=never)
        found.stains.append(row)
        if heat:
            found.watch_heat.append(row.key)
        for hazard in row.hazards:
            gather.hazard(hazard, row.key)


def _wearer(facts: Facts, gather: Gather) -> None:
    """Cautions that follow from who wears the piece and what is done to it."""
    sewing = "mend" in facts.services or "alter" in facts.services or facts.work
    if sewing:
        gather.hazard("sharps.pins_after_alter")
    if facts.wearer == "under_3" and (sewing or "loose_button" in facts.damage):
        gather.hazard("child.small_parts")
    sleepwear = gather.tables["kinds"][facts.kind].flag("sleepwear")
    if facts.wearer in ("child", "under_3") and sleepwear and "alter" in facts.services:
        gather.hazard("child.sleepwear")


def _compare(gather: Gather, reading: Reading, facts: Facts, rows: list[Row], key: str) -> None:
    """Warn where the label allows more than the material stands: the gentler stands."""
    if not reading.stated:
        return
    tally = Tally()
    for row in rows:
        tally.add(row.key, row.pairs, reading.stated, row.key in facts.overrides)
    axes, rules = [], set()
    for axis, words in _COMPARED.items():
        if AXIS_BIT[axis] & reading.stated and tally.severity[axis] > reading.ceiling[axis]:
            axes.append(words)
            rules |= set(tally.why[axis] or ())
    if axes:
        names = ", ".join(sorted(gather.tables.rules[rule].cells["name"] for rule in rules))
        gather.warn(
            key,
            f"The label allows more than {names} stands ({', '.join(axes)}); the gentler stands.",
            tuple(sorted(rules)),
        )
