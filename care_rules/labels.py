"""Reading a care label: which rules stand on it, what it leaves unsaid, where it contradicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from care_rules.gather import Gather
from care_rules.limits import (
    AXIS_BIT,
    COUNT,
    GROUP_BIT,
    HOTTEST_IRON,
    HOTTEST_WATER,
    SOLVENT_SETS,
    SOLVENTS,
    WASH_C,
    WET,
)
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.speech import listed
from care_rules.tables import Book
from care_rules.vocabulary import Facts, Label

#: A label that speaks of none of these says nothing of how to clean the piece.
CLEANING = ("wash", "dry_clean", "wet_clean")
#: A severity above that of every limit.
_BEYOND = HOTTEST_IRON + 1


def _group_words(group: str) -> str:
    return {
        "wash": _("washing"),
        "bleach": _("bleach"),
        "tumble_dry": _("tumble drying"),
        "natural_dry": _("air drying"),
        "iron": _("ironing"),
        "dry_clean": _("dry cleaning"),
        "wet_clean": _("wet cleaning"),
    }[group]


@dataclass(slots=True)
class Reading:
    """What the label comes to. ``ceiling`` is what its symbols alone allow, in the gentler
    edition, so that it can be held against the fibres. Shared by all pieces with such a label."""

    stated: int = 0
    ceiling: list[int] = field(default_factory=lambda: [0] * COUNT)
    #: the same where the label speaks of the treatment, and out of reach where it does not
    stated_ceiling: list[int] = field(default_factory=lambda: [_BEYOND] * COUNT)
    specialist: bool = False
    surface: bool = False
    #: fibres that the wording of the label lets take for granted
    fibres: list[str] = field(default_factory=list)
    #: the rows that stand in for what a readable label does not speak of
    silent: list[Row] = field(default_factory=list)

    def states(self, group: str) -> bool:
        return bool(self.stated & GROUP_BIT[group])


def read_label(label: Label, tables: Book) -> tuple[Reading, Gather]:
    """What the label says, and a new gathering with its rules, gaps and contradictions.

    Most pieces of a day carry a label like one that came before, so readings are kept.
    """
    reading, gather = _kept(label, tables)
    return reading, gather.copy()


def forget_labels() -> None:
    """Read every label anew from now on: for measuring."""
    _kept.cache_clear()


@lru_cache(maxsize=1024)
def _kept(label: Label, tables: Book) -> tuple[Reading, Gather]:
    reading, gather = Reading(), Gather(tables)
    symbols = [tables["symbols"][key] for key in sorted(label.symbols)]
    terms = {row.bare: row for term in label.terms for row in tables.terms[term]}
    spoken: dict[str, dict[str, Row]] = {}
    drawn: dict[str, list[Row]] = {}
    for row in symbols:
        gather.take(row, _pairs_of(row, label, tables))
        if not row.flag("modifier"):
            group = row.cells["group"]
            spoken.setdefault(group, {})[row.bare] = row
            drawn.setdefault(group, []).append(row)
        _ask(row, gather)
    for row in (terms[key] for key in sorted(terms)):
        gather.take(row, row.pairs)
        reading.specialist |= row.only == "specialist"
        reading.surface |= row.only == "surface"
        reading.fibres += row.listed("as_fibre")
        for key in row.listed("symbols"):
            symbol = tables["symbols"][key]
            # Words are plain where a drawing is not: "tumble dry" needs no market to be read.
            words = _plain_pairs(symbol, tables)
            gather.take(symbol, words, row.key)
            if not symbol.flag("modifier"):
                spoken.setdefault(symbol.cells["group"], {})[key] = symbol
        _ask(row, gather)
    _contradictions(spoken, drawn, gather)
    if label.state == "read":
        for group, rows in spoken.items():
            reading.stated |= GROUP_BIT[group]
            for row in rows.values():
                _deepen(reading.ceiling, row)
        reading.stated_ceiling = [
            ceiling if bit & reading.stated else _BEYOND
            for ceiling, bit in zip(reading.ceiling, AXIS_BIT, strict=True)
        ]
        _gaps(reading, tables, gather)
        _odd_pairs(label, tables, gather)
    else:
        row = tables["ceilings"][label.state]
        gather.take(row, row.pairs)
        if row.level:
            gather.warn(row.key, because=(row.key,))
        if spoken and label.state != "unreadable":
            gather.warn("label.state_conflict")
    if reading.specialist:
        gather.warn("label.names_specialist")
    gather.label_ends(reading.stated)
    return reading, gather


def _pairs_of(row: Row, label: Label, tables: Book) -> tuple[tuple[int, int, int], ...]:
    """The symbol's pairs in the edition and market of the label; unknown keeps the gentler."""
    for other in tables.readings.get(row.bare, ()):
        edition, market = other.cells["edition"], other.cells["market"]
        if edition in ("*", label.edition) and market in ("*", label.market):
            return other.pairs
    return row.pairs


def _plain_pairs(row: Row, tables: Book) -> tuple[tuple[int, int, int], ...]:
    for other in tables.readings.get(row.bare, ()):
        if other.cells["edition"] == "*":
            return other.pairs
    return row.pairs


def _deepen(ceiling: list[int], row: Row) -> None:
    for axis, severity, _softness in row.pairs:
        if severity > ceiling[axis]:
            ceiling[axis] = severity


def _ask(row: Row, gather: Gather) -> None:
    ask = row.cells["ask"]
    if not ask:
        return
    if row.table == "symbols":
        gather.warn("label.nonstandard_symbol", row.says, (row.key,))
    elif ask == "hold":
        gather.warn(
            "label.ask_term", _("“{term}”: {says}", term=_(row.bare), says=row.says), (row.key,)
        )
    else:
        gather.warn(
            "label.incomplete_term",
            _("“{term}”: {says}", term=_(row.bare), says=row.says),
            (row.key,),
        )


def _contradictions(
    spoken: dict[str, dict[str, Row]], drawn: dict[str, list[Row]], gather: Gather
) -> None:
    """Two drawings of one group, or words and drawings of which one forbids the other."""
    for group, rows in spoken.items():
        two_drawings = len(drawn.get(group, ())) > 1
        bans = {row.flag("forbids") for row in rows.values()}
        if two_drawings or len(bans) > 1:
            both = [rows[key] for key in sorted(rows)]
            names = _(" and ").join(f"“{row.cells['name']}”" for row in both)
            gather.warn(
                f"label.contradiction.{group}",
                _(
                    "The label says {names}; the strictest stands until it is cleared up.",
                    names=names,
                ),
                tuple(row.key for row in both),
            )


def _gaps(reading: Reading, tables: Book, gather: Gather) -> None:
    for group, row in tables.not_stated:
        if not reading.states(group):
            gather.take(row, row.pairs)
            reading.silent.append(row)


def warn_of_silence(
    facts: Facts, reading: Reading, severity: Sequence[int], gather: Gather
) -> None:
    """Say what the label leaves out where that changes something for this piece.

    Looks at label, limits and what is asked for only, so nothing that is added to a piece takes
    the word back.
    """
    matters = _silent_groups_that_matter(facts, reading, severity)
    silent = [row for row in reading.silent if row.cells["group"] in matters]
    if silent:
        names = listed([_group_words(row.cells["group"]) for row in silent])
        gather.warn(
            "label.not_stated",
            _("The label is silent on {names}.", names=names),
            tuple(row.key for row in silent),
            level="info" if any(map(reading.states, CLEANING)) else "caution",
        )


def _silent_groups_that_matter(facts: Facts, reading: Reading, severity: Sequence[int]) -> set[str]:
    services = set(facts.services)
    matters = set()
    if "press" in services:
        matters.add("iron")
    if "clean" not in services:
        return matters
    if facts.stains:
        matters.add("bleach")
    closed = {
        "wash": severity[WASH_C] == HOTTEST_WATER,
        "wet_clean": severity[WET] > 0,
        "dry_clean": severity[SOLVENTS] == len(SOLVENT_SETS) - 1,
    }
    if not any(reading.states(group) and not closed[group] for group in CLEANING):
        matters |= set(CLEANING)
    # How to dry it matters where the label has it washed.
    washed = reading.states("wash") and reading.ceiling[WASH_C] < HOTTEST_WATER
    if washed and not reading.states("natural_dry"):
        matters.add("tumble_dry")
    return matters


def _odd_pairs(label: Label, tables: Book, gather: Gather) -> None:
    """Pairs that seldom stand together: a note to look at the label again."""
    shown = set(label.symbols)
    for row, first, second, without in tables.odd_pairs:
        if shown & first and shown & second and not shown & without:
            gather.warn("label.odd_pair", row.says, (row.key,))
