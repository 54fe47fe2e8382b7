"""A label held against the material: where it allows more than the piece stands, and where a
careful habit gives way to it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache, partial

from care_rules.gather import Gather
from care_rules.labels import Reading
from care_rules.limits import (
    AXES,
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
    strictest,
)
from care_rules.rows import Row, row_name
from care_rules.speech import gettext as _
from care_rules.speech import gettext_noop, listed
from care_rules.tables import Book
from care_rules.vocabulary import COLOURS, CONSTRUCTIONS, Facts


@dataclass(frozen=True, slots=True)
class Compared:
    """A limit where a label harsher than the material is worth a warning: the label's own measure,
    the gentler one that the piece needs, and what is said where it stands none of it."""

    labelled: str
    gentler: str
    closed: str


_COMPARED = {
    WASH_C: Compared(
        gettext_noop("hotter water"), gettext_noop("cooler water"), gettext_noop("no water")
    ),
    WASH_ACTION: Compared(
        gettext_noop("more action"), gettext_noop("less action"), gettext_noop("less action")
    ),
    BLEACH: Compared(
        gettext_noop("more bleach"), gettext_noop("less bleach"), gettext_noop("no bleach")
    ),
    TUMBLE: Compared(
        gettext_noop("hotter drying"), gettext_noop("cooler drying"), gettext_noop("no tumbling")
    ),
    IRON_C: Compared(
        gettext_noop("a hotter iron"), gettext_noop("a cooler iron"), gettext_noop("no iron")
    ),
    STEAM: Compared(gettext_noop("more steam"), gettext_noop("no steam"), gettext_noop("no steam")),
    SOLVENTS: Compared(
        gettext_noop("more solvent"), gettext_noop("a milder solvent"), gettext_noop("no solvent")
    ),
    DRY_ACTION: Compared(
        gettext_noop("harder dry cleaning"),
        gettext_noop("gentler dry cleaning"),
        gettext_noop("gentler dry cleaning"),
    ),
    WET: Compared(
        gettext_noop("wet cleaning"),
        gettext_noop("no wet cleaning"),
        gettext_noop("no wet cleaning"),
    ),
    WET_ACTION: Compared(
        gettext_noop("harder wet cleaning"),
        gettext_noop("gentler wet cleaning"),
        gettext_noop("gentler wet cleaning"),
    ),
}


#: The tables whose names say how a cloth is: a noun stands beside them.
_MANNERS = frozenset({"colours", "constructions"})
#: What a piece is made of.
_STUFF = frozenset({"fibres", "trims", "constructions", "kinds"})
#: An action that goes without saying where its whole treatment is closed.
_PART_OF = {WASH_ACTION: WASH_C, DRY_ACTION: SOLVENTS, WET_ACTION: WET}


def give_way(gather: Gather, reading: Reading) -> None:
    """Say which careful habits the label's own symbols are followed before."""
    yielding = gather.gives_way(reading.stated_ceiling)
    if yielding:
        rules = gather.tables.rules
        names = ", ".join(sorted({_bare_name(rules[key]) for key in yielding}))
        axes = sorted({axis for axes in yielding.values() for axis in axes} & _COMPARED.keys())
        says = partial(_followed, names, tuple(_COMPARED[axis].labelled for axis in axes))
        gather.warn("label.followed", says, tuple(sorted(yielding)))


def _followed(names: str, axes: tuple[str, ...]) -> str:
    limits = listed([_(axis) for axis in axes]) if axes else _("more")
    return _("As labelled: {limits} than usual for {names}.", names=names, limits=limits)


def compare(gather: Gather, reading: Reading, facts: Facts, rows: list[Row], key: str) -> None:
    """Warn where the label allows more than the material stands: the gentler stands."""
    ceiling = reading.stated_ceiling
    tally = Tally()
    for row in rows:
        for pair in row.pairs:
            if row.table == "stains" and pair[0] == WASH_C:
                continue  # it binds the first water only
            if pair[1] > ceiling[pair[0]]:
                tally.add(row.key, (pair,), reading.stated, row.key in facts.overrides)
    axes: list[str] = []
    rules: set[str] = set()
    if any(tally.severity):
        for axis, words in _COMPARED.items():
            severity = tally.severity[axis]
            if not severity:
                continue
            rules |= set(tally.why[axis])
            whole = _PART_OF.get(axis)
            if whole is None or tally.severity[whole] < strictest(AXES[whole]):
                axes.append(words.closed if severity == strictest(AXES[axis]) else words.gentler)
    if axes:
        text = partial(_allows_more, gather.tables, tuple(axes), frozenset(rules))
        gather.warn(key, text, tuple(sorted(rules)))


@lru_cache(maxsize=2048)
def _allows_more(tables: Book, axes: tuple[str, ...], rules: frozenset[str]) -> str:
    rows = [tables.rules[rule] for rule in rules]
    names = ", ".join(sorted(map(_bare_name, rows)))
    limits = listed([_(axis) for axis in axes])
    # "for" wants a thing that the piece is made of; what has befallen it is only named.
    if all(row.table in _STUFF for row in rows):
        return _("Despite the label: {limits} for {names}.", limits=limits, names=names)
    return _("Despite the label: {limits} ({names}).", limits=limits, names=names)


def _bare_name(row: Row) -> str:
    """What people call a rule row, without what stands in brackets behind it."""
    if row.bare == "unknown":
        return _("what is not known")
    name = row_name(row).partition(" (")[0]
    manner = row.table in _MANNERS and row.bare in (*COLOURS, *CONSTRUCTIONS) and not row.only
    return _("{how} cloth", how=name) if manner else name
