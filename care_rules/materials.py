"""Fibres, colour, trims, stains, damage and hazards of a piece: each lets its rules speak."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial

from care_rules.against_label import compare, give_way
from care_rules.fibre_words import meanings
from care_rules.gather import Gather
from care_rules.labels import CLEANING, Reading
from care_rules.limits import (
    DEFAULT,
    HOTTEST_WATER,
    SOLVENT_SETS,
    SOLVENTS,
    WASH_C,
    WET,
)
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.told import told
from care_rules.vocabulary import Component, Facts, FibreShare

#: Tables whose rows are held against the label together; fibres and trims are named apart.
_BESIDES = frozenset(
    {"constructions", "colours", "kinds", "stains", "hazards", "damage", "combinations"}
)
_UNKNOWN = "unknown"
_UNNAMED = "other_fibres"
_TWO_MEANINGS = "composition_rule.code_collision"
_CODE_RULE = "composition_rule.abbreviations_barred"
#: How far above one hundred per cent a part's shares may come to before somebody is asked
#: (common practice, no source).
_MISREAD = 25


@dataclass(slots=True)
class Materials:
    """What the route needs to know of the materials besides their limits."""

    fibres: list[Row] = field(default_factory=list)
    removed: list[Row] = field(default_factory=list)
    stains: list[Row] = field(default_factory=list)
    damage: list[Row] = field(default_factory=list)
    tests: list[Row] = field(default_factory=list)
    #: fibres that somebody has to say yes to where solvent alone is left
    solvent_asks: list[Row] = field(default_factory=list)
    banned_agents: frozenset[str] = frozenset()
    watch_heat: list[str] = field(default_factory=list)
    #: stain key to the warmest water that may touch it before it is out, in degrees Celsius
    first_water: dict[str, int] = field(default_factory=dict)
    colour_group: str = _UNKNOWN
    #: the facts of the piece as conditions name them
    known: set[str] = field(default_factory=set)


def read_materials(facts: Facts, reading: Reading, gather: Gather) -> Materials:
    """Add the rules of everything the piece is made of, carries or has suffered."""
    materials = Materials()
    known = materials.known = told(facts, gather.tables)
    _conditions(known, gather)
    _fibres(facts, reading, gather, materials)
    for component in facts.components:
        _shares(component, known, gather)
    compare(gather, reading, facts, materials.fibres, "label.harsher_than_fibre")
    _colour(facts, gather, materials)
    trims = _trims(facts, reading, gather, materials)
    compare(gather, reading, facts, trims, "label.harsher_than_trim")
    _stains(facts, gather, materials)
    tables = gather.tables
    kind = tables["kinds"][facts.kind]
    if kind.pairs:
        settled = kind.flag("label_settles") and _way_named(kind, reading)
        gather.take(kind, kind.pairs, settled=settled)
    for hazard in kind.hazards:
        gather.hazard(hazard, kind.key)
    for key in sorted(facts.damage):
        row = tables["damage"][key]
        gather.take(row, row.pairs)
        if row.level != "info":
            gather.warn(row.key)
        materials.damage.append(row)
    for key in sorted(facts.hazards):
        gather.hazard(key)
    _wearer(facts, gather)
    others = [
        row
        for key, _pairs, row in gather.rules
        if key == row.key and row.table in _BESIDES and row not in trims
    ]
    compare(gather, reading, facts, others, "label.harsher_than_piece")
    give_way(gather, reading)
    return materials


def _conditions(known: set[str], gather: Gather) -> None:
    """Let the rows speak whose facts come together."""
    whens = gather.tables.whens
    for fact in sorted(known & whens.keys()):
        for when in whens[fact]:
            if not when.holds(known):
                continue
            if when.row.table == "hazards":
                gather.hazard(when.row.bare)
                continue
            gather.warn(when.row.key)
            gather.take(when.row, when.row.pairs)


def _fibres(facts: Facts, reading: Reading, gather: Gather, materials: Materials) -> None:
    table = gather.tables["fibres"]
    seen: dict[str, Row] = {key: table[key] for key in reading.fibres}
    unknown = not facts.components
    for component in facts.components:
        if not component.fibres:
            unknown = True
        for share in component.fibres:
            for key in _meant(share, facts, gather) if share.written else (share.fibre,):
                seen[key] = table[key]
    if unknown:
        seen[_UNKNOWN] = table[_UNKNOWN]
        materials.known.add(f"fibre:{_UNKNOWN}")
    materials.fibres = [row for _, row in sorted(seen.items())]
    banned: set[str] = set()
    for row in materials.fibres:
        gather.take(row, row.pairs)
        for hazard in row.hazards:
            gather.hazard(hazard, row.key)
        if row.cells["ask"] == "solvent":
            materials.solvent_asks.append(row)
        elif row.cells["ask"]:
            says = partial(_, "It holds {fibre}.", fibre=row.cells["name"])
            gather.warn(row.key, says, level=row.cells["ask"])
        banned |= gather.tables.agent_bans.get(row.bare, frozenset())
    materials.banned_agents = frozenset(banned)
    if _UNKNOWN in seen:
        gather.warn("composition.unknown", because=("composition.unknown", seen[_UNKNOWN].key))
    kind = gather.tables["kinds"][facts.kind]
    # Whoever takes such a kind finds out what it is made of; nobody here puts it into water.
    if any(map(reading.states, CLEANING)) or reading.specialist or kind.only:
        return
    if _UNKNOWN in seen:
        gather.warn("composition.nothing_known")
    felting = [row for key, row in sorted(seen.items()) if row.flag("felts") and key != _UNKNOWN]
    delicate = [row for row in (*materials.fibres, kind) if row.flag("delicate")]
    if delicate and facts.label.state != "not_needed" and "clean" in facts.services:
        keys = ("label.silent_on_delicate", *(row.key for row in delicate))
        gather.warn("label.silent_on_delicate", because=keys)
    # A tailored kind stays out of water until its label says otherwise, and felting needs water.
    tailored = any(axis == WASH_C and sev == HOTTEST_WATER for axis, sev, _ in kind.pairs)
    if felting and not tailored and "clean" in facts.services:
        gather.warn(
            "label.silent_on_felting",
            because=("label.silent_on_felting", *(row.key for row in felting)),
        )


def _meant(share: FibreShare, facts: Facts, gather: Gather) -> tuple[str, ...]:
    """The fibres that a word of the label may mean; with more than one, somebody is asked."""
    table = gather.tables["fibres"]
    every = meanings(share.written, gather.tables, facts.label.market)
    fibres = tuple(sorted({fibre for meaning in every for fibre in meaning.fibres}))
    names = _(" or ").join(table[fibre].cells["name"] for fibre in fibres)
    says = _("“{word}” is read as {names}.", word=share.written, names=names)
    for meaning in every:
        if meaning.rule:
            gather.warn(meaning.rule, says, (meaning.rule, meaning.key))
    first = table[fibres[0]]
    if len(fibres) > 1:
        # Nothing is asked where the answer changes nothing, or where a rule says how to read it.
        ruled = [meaning for meaning in every if meaning.rule not in ("", _CODE_RULE)]
        settled = any(set(meaning.fibres) == set(fibres) for meaning in ruled)
        matters = not settled and any(table[fibre].pairs != first.pairs for fibre in fibres)
        says = _(
            "“{word}” may mean {names}; the strictest stands.", word=share.written, names=names
        )
        keys = (_TWO_MEANINGS, *(meaning.key for meaning in every))
        gather.warn(_TWO_MEANINGS, says, keys, level="" if matters else "info")
    return fibres


def _shares(component: Component, known: set[str], gather: Gather) -> None:
    """The shares of one part (composition rules): notes to read the label again."""
    fibres = component.fibres
    whens = gather.tables.share_whens
    stated: list[float] = []
    unnamed = 0.0
    for share in fibres:
        if share.percent is None:
            continue
        stated.append(share.percent)
        if share.fibre == _UNNAMED:
            unnamed += share.percent
        for when in whens.get(share.fibre, ()):
            if when.holds_for(share.percent) and when.holds(known):
                gather.warn(when.row.key)
    if not fibres:
        return
    if len({share.fibre for share in fibres}) < len(fibres):
        gather.warn("composition.duplicate")
        # In several languages every share stands again, so that the whole comes to more than 100.
        again = len({(share.fibre, share.percent) for share in fibres}) * 2 <= len(fibres)
        if again and (not stated or sum(stated) > 100):
            gather.warn("composition_rule.language")
    if unnamed > 15:
        gather.warn("composition.other_fibres")
    if unnamed > 5:
        gather.warn("composition.some_other_fibres")
    if len(fibres) > 1 and max(stated, default=0) == 100:
        gather.warn("composition_rule.pure_single_fibre")
    _total(component, stated, gather)


def _total(component: Component, stated: list[float], gather: Gather) -> None:
    """Shares that do not add up. Where one is not stated they may only come to too much.

    Far above one hundred is no slip of rounding: parts were merged or misread, so somebody asks.
    """
    over = sum(stated) - 100
    if len(stated) < len(component.fibres) and over < 0:
        return
    if abs(over) > 1.000001:
        says = _(
            "The shares of the {part} add up to {total} percent.",
            part=component.part,
            total=f"{over + 100:g}",
        )
        reasons = _total_reasons(over, len(component.fibres))
        level = "hold" if over > _MISREAD else ""
        gather.warn("composition.total", says, reasons, level=level)
    elif abs(over) > 0.000001:
        gather.warn("composition.rounding")


def _total_reasons(over: float, count: int) -> tuple[str, ...]:
    reasons = ["composition.total", "composition_rule.total_100_per_component"]
    if -5 <= over < 0:
        reasons.append("composition_rule.cn_under_5")
    if count == 1 and -15 <= over < 0:
        reasons.append("composition_rule.old_label_85")
    return tuple(reasons)


def _colour(facts: Facts, gather: Gather, materials: Materials) -> None:
    row = gather.tables["colours"][facts.colour]
    gather.take(row, row.pairs)
    if row.level not in ("", "info"):
        gather.warn(row.key)
    if row.flag("test") and not facts.colour_tested:
        materials.tests.append(row)
    materials.colour_group = row.cells["load_group"] or _UNKNOWN


def _trims(facts: Facts, reading: Reading, gather: Gather, materials: Materials) -> list[Row]:
    trims, colours = gather.tables["trims"], gather.tables["colours"]
    binding = []
    for key in sorted(facts.trims):
        row = trims.get(key) or colours[key]
        # A label that names an open way has answered what the row would ask.
        settles = row.cells.get("label_settles", "")
        settled = bool(settles) and _way_named(row, reading)
        quiet = settled and settles == "quiet"
        # What its steps say already is not told apart.
        told_apart = row.level != "info" or row.cells.get("do")
        if (told_apart and not quiet) or (row.table == "colours" and row.pairs):
            gather.warn(row.key, level="caution" if settled else "")
        if row.flag("remove") and not quiet:
            materials.removed.append(row)
        if row.flag("lifts"):
            continue
        binding.append(row)
        gather.take(row, row.pairs)
        for hazard in row.hazards:
            gather.hazard(hazard, row.key)
        if row.flag("test"):
            materials.tests.append(row)
        if row.flag("wet_check"):
            materials.watch_heat.append(row.key)
        if row.cells.get("load_group"):
            materials.colour_group = row.cells["load_group"]
    making = gather.tables["constructions"][facts.construction]
    gather.take(making, making.pairs)
    return binding


#: A treatment, the axis that closes it, and where on it.
_CLOSED = (
    ("wash", WASH_C, HOTTEST_WATER),
    ("wet_clean", WET, 1),
    ("dry_clean", SOLVENTS, len(SOLVENT_SETS) - 1),
)


def _way_named(row: Row, reading: Reading) -> bool:
    """Whether the label names a cleaning that the row itself does not forbid."""
    firm = {(axis, severity) for axis, severity, softness in row.pairs if softness < DEFAULT}
    return any(
        reading.states(group) and reading.ceiling[axis] < closed and (axis, closed) not in firm
        for group, axis, closed in _CLOSED
    )


def _stains(facts: Facts, gather: Gather, materials: Materials) -> None:
    for key in sorted(facts.stains):
        row = gather.tables["stains"][key]
        gather.take(row, tuple(pair for pair in row.pairs if pair[0] != WASH_C))
        for axis, severity, _softness in row.pairs:
            if axis == WASH_C:
                materials.first_water[row.key] = HOTTEST_WATER - severity
        heat = row.flag("heat_sets")
        says, never = gather.tables.stain_words[key]
        grave = heat or row.flag("professional")
        gather.warn(row.key, says, level="caution" if grave else "info", do=never)
        materials.stains.append(row)
        if heat:
            materials.watch_heat.append(row.key)
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
    work = gather.tables["work"]
    alters = "alter" in facts.services or any(not work[key].flag("repair") for key in facts.work)
    if facts.wearer in ("child", "under_3") and sleepwear and alters:
        gather.hazard("child.sleepwear")
