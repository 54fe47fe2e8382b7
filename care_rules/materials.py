"""Fibres, colour, trims, stains, damage and hazards of a piece: each lets its rules speak."""

from __future__ import annotations

from dataclasses import dataclass, field

from care_rules.fibre_words import meanings
from care_rules.gather import Gather
from care_rules.labels import CLEANING, Reading
from care_rules.limits import (
    AXIS_BIT,
    BLEACH,
    DRY_ACTION,
    HOTTEST_WATER,
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
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.speech import gettext_noop
from care_rules.told import told
from care_rules.vocabulary import Component, Facts, FibreShare

#: Where a label harsher than the material is worth a warning, and how to call it.
_COMPARED = {
    WASH_C: gettext_noop("water temperature"),
    WASH_ACTION: gettext_noop("wash action"),
    BLEACH: gettext_noop("bleach"),
    TUMBLE: gettext_noop("tumble drying"),
    IRON_C: gettext_noop("iron temperature"),
    STEAM: gettext_noop("steam"),
    SOLVENTS: gettext_noop("solvent"),
    DRY_ACTION: gettext_noop("dry cleaning action"),
    WET: gettext_noop("wet cleaning"),
    WET_ACTION: gettext_noop("wet cleaning action"),
}
_UNKNOWN = "unknown"
_UNNAMED = "other_fibres"
_TWO_MEANINGS = "composition_rule.code_collision"
_CODE_RULE = "composition_rule.abbreviations_barred"


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
    known = told(facts, gather.tables)
    _conditions(known, gather)
    _fibres(facts, reading, gather, found)
    for component in facts.components:
        _shares(component, known, gather)
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


def _fibres(facts: Facts, reading: Reading, gather: Gather, found: Materials) -> None:
    table = gather.tables["fibres"]
    seen: dict[str, Row] = {key: table[key] for key in reading.fibres}
    shell: dict[str, Row] = {}
    unknown = not facts.components
    for component in facts.components:
        if not component.fibres:
            unknown = True
        for share in component.fibres:
            for key in _meant(share, facts, gather) if share.written else (share.fibre,):
                seen[key] = table[key]
                if component.part == "shell":
                    shell[key] = table[key]
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
    # A tailored kind stays out of water until its label says otherwise, and felting needs water.
    kind = gather.tables["kinds"][facts.kind]
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
        if len({(share.fibre, share.percent) for share in fibres}) * 2 <= len(fibres):
            gather.warn("composition_rule.language")
    if unnamed > 15:
        gather.warn("composition.other_fibres")
    if unnamed > 5:
        gather.warn("composition.some_other_fibres")
    if len(fibres) > 1 and max(stated, default=0) == 100:
        gather.warn("composition_rule.pure_single_fibre")
    _total(component, stated, gather)


def _total(component: Component, stated: list[float], gather: Gather) -> None:
    """Shares that do not add up. Where one is not stated they may only come to too much."""
    over = sum(stated) - 100
    if len(stated) < len(component.fibres) and over < 0:
        return
    if abs(over) > 1.000001:
        says = _(
            "The shares of the {part} add up to {total} percent.",
            part=component.part,
            total=f"{over + 100:g}",
        )
        gather.warn("composition.total", says, _total_reasons(over, len(component.fibres)))
    if abs(over) > 0.000001:
        gather.warn("composition.rounding")


def _total_reasons(over: float, count: int) -> tuple[str, ...]:
    reasons = ["composition.total", "composition_rule.total_100_per_component"]
    if -5 <= over < 0:
        reasons.append("composition_rule.cn_under_5")
    if count == 1 and -15 <= over < 0:
        reasons.append("composition_rule.old_label_85")
    return tuple(reasons)


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
        name = _(row.bare)
        says = f"{name[:1].upper()}{name[1:]}: {row.cells['first_aid']}"
        if skilled:
            says += " " + _("For a trained spotter; it may stay.")
        never = _("Never: {what}.", what=row.cells["never_says"])
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
    work = gather.tables["work"]
    alters = "alter" in facts.services or any(not work[key].flag("repair") for key in facts.work)
    if facts.wearer in ("child", "under_3") and sleepwear and alters:
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
            _(
                "The label allows more than {names} stands ({limits}); the gentler stands.",
                names=names,
                limits=", ".join(_(axis) for axis in axes),
            ),
            tuple(sorted(rules)),
        )
