"""A label held against the material: where it allows more than the piece stands, and where a
careful habit gives way to it."""

from __future__ import annotations

from functools import lru_cache, partial

from care_rules.gather import Gather
from care_rules.labels import Reading
from care_rules.limits import (
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
from care_rules.rows import Row, row_name
from care_rules.speech import gettext as _
from care_rules.speech import gettext_noop
from care_rules.tables import Book
from care_rules.vocabulary import Facts

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


def give_way(gather: Gather, reading: Reading) -> None:
    """Say which careful habits the label's own symbols are followed before."""
    yielding = gather.gives_way(reading.stated_ceiling)
    if yielding:
        rules = gather.tables.rules
        names = ", ".join(sorted({_bare_name(rules[key]) for key in yielding}))
        axes = sorted({axis for axes in yielding.values() for axis in axes} & _COMPARED.keys())
        says = partial(_followed, names, tuple(_COMPARED[axis] for axis in axes))
        gather.warn("label.followed", says, tuple(sorted(yielding)))


def _followed(names: str, axes: tuple[str, ...]) -> str:
    return _(
        "The label overrules the gentler {limits} usual for {names}.",
        names=names,
        limits=", ".join(_(axis) for axis in axes),
    )


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
            if tally.severity[axis]:
                axes.append(words)
                rules |= set(tally.why[axis])
    if axes:
        text = partial(_allows_more, gather.tables, key, tuple(axes), frozenset(rules))
        gather.warn(key, text, tuple(sorted(rules)))


@lru_cache(maxsize=2048)
def _allows_more(tables: Book, key: str, axes: tuple[str, ...], rules: frozenset[str]) -> str:
    text = (
        _("The label allows more {limits} than is safe with {names}.")
        if key == "label.harsher_than_piece"
        else _("The label allows more {limits} than {names} stands.")
    )
    return text.format(
        names=", ".join(sorted({_bare_name(tables.rules[rule]) for rule in rules})),
        limits=", ".join(_(axis) for axis in axes),
    )


def _bare_name(row: Row) -> str:
    """What people call a rule row, without what stands in brackets behind it."""
    return row_name(row).partition(" (")[0]
