"""The rule tables: read once, checked row by row, compiled for the engine.

Every row needs a key, a source and a status; a bad cell raises TableError naming the file, the
row, the value and the cure. Keys inside a file are bare; a rule key is prefix and bare key,
such as ``fibre.wool``; hazards and house notices keep their own.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from care_rules.conditions import When, fields, groups_of, index, index_shares
from care_rules.errors import TableError
from care_rules.fibre_words import Meaning, read_meanings
from care_rules.limits import Pair, read_limits, split_limits
from care_rules.speech import each_language, gettext
from care_rules.vocabulary import GROUPS, LEVELS, STATUSES, Rule

DATA = Path(__file__).resolve().parent / "data"

#: File stem to the prefix of its rule keys.
PREFIX = {
    "symbols": "label.",
    "ceilings": "label.",
    "readings": "reading.",
    "terms": "term.",
    "label_rules": "label_rule.",
    "composition_rules": "composition_rule.",
    "fibres": "fibre.",
    "fibre_words": "word.",
    "colours": "colour.",
    "trims": "trim.",
    "constructions": "construction.",
    "kinds": "kind.",
    "stains": "stain.",
    "agents": "agent.",
    "mixtures": "mixture.",
    "hazards": "",
    "damage": "damage.",
    "work": "work.",
    "notices": "",
}
#: The tables whose rows speak by a condition only; a hazard may, and may also be told.
CONDITIONAL = ("label_rules", "composition_rules")
#: Strength of a limit whose cell names none: a symbol is a ceiling that nothing lifts.
_STRENGTH = {"symbols": "physical", "readings": "physical", "terms": "physical"}
#: How a rule about labels is put to use: the engine is built so, it raises a caution, it is a
#: note on what was typed, or it is there to be read only.
USES = ("engine", "caution", "note", "text")
#: The columns that people read; ``notes`` holds sentences too, each behind its step.
WORDS = (
    "name",
    "says",
    "do",
    "defer_to",
    "trigger",
    "first_aid",
    "never_says",
    "fibre_says",
    "fix",
    "before_says",
    "note",
)
#: The columns that sort or grade rows by a plain word. They stay keys; ``in_words`` reads them out.
HEADINGS = ("group", "family", "class", "kind", "topic", "shrink", "crease", "lint", "astm")
_YES = frozenset({"modifier", "forbids", "lifts", "remove", "test", "wet_check", "felts", "air"})


@dataclass(frozen=True, slots=True)
class Row:
    """One rule row. ``pairs`` is what it limits; ``cells`` keeps every column as written."""

    key: str
    bare: str
    table: str
    pairs: tuple[Pair, ...]
    cells: dict[str, str] = field(repr=False)
    level: str = ""
    scope: str = ""
    says: str = ""
    only: str = ""
    hazards: tuple[str, ...] = ()
    notes: tuple[tuple[str, str], ...] = ()

    def flag(self, column: str) -> bool:
        return self.cells.get(column) == "yes"

    def listed(self, column: str) -> tuple[str, ...]:
        return tuple(_split(self.cells.get(column, ""), ";"))

    def rule(self) -> Rule:
        """The row as a reader sees it; its strength is that of its firmest limit."""
        limits = split_limits(self.cells.get("limits", ""), _STRENGTH.get(self.table, "usual"))
        strengths = {strength for _, _, strength in limits}
        firmest = next((s for s in ("physical", "usual", "default") if s in strengths), "usual")
        return Rule(
            self.key,
            self.table,
            self.says,
            self.cells["source"],
            self.cells["clause"],
            self.cells["status"],
            firmest,
            tuple(limits),
        )


Table = dict[str, Row]


def _split(text: str, mark: str) -> list[str]:
    return [part.strip() for part in text.split(mark) if part.strip()]


def load_table(name: str, folder: Path = DATA, say: Callable[[str], str] = str) -> Table:
    """One table as bare key to row, in file order; ``say`` puts its texts into a language."""
    path = folder / f"{name}.csv"
    table: Table = {}
    with path.open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file)
        for number, cells in enumerate(reader, start=2):
            row = _row(path.name, number, name, cells, say)
            if row.bare in table:
                raise TableError(path.name, number, row.bare, "this key stands twice; drop one row")
            table[row.bare] = row
    if not table:
        raise TableError(path.name, 1, "", "the table is empty; put the rows back")
    return table


def _row(
    file: str, number: int, name: str, cells: dict[str, str], say: Callable[[str], str]
) -> Row:
    if None in cells or None in cells.values():
        raise TableError(file, number, cells, "give the row as many cells as the heading has")
    for column in ("key", "says", "source", "clause", "status"):
        if not cells.get(column, "").strip():
            raise TableError(file, number, cells.get("key"), f"fill the column {column!r}")
    if cells["status"] not in STATUSES:
        raise TableError(file, number, cells["status"], f"use a status of {', '.join(STATUSES)}")
    if cells.get("level", "") not in ("", *LEVELS):
        raise TableError(file, number, cells["level"], f"use a level of {', '.join(LEVELS)}")
    if cells.get("scope", "") not in ("", "piece", "step"):
        raise TableError(file, number, cells["scope"], "use the scope piece or step")
    if cells.get("use", "") not in ("", *USES):
        raise TableError(file, number, cells["use"], f"use one of {', '.join(USES)}")
    if cells.get("use") == "text" and not cells.get("how"):
        raise TableError(file, number, cells["key"], "say in the column 'how' why it is text only")
    if cells.get("only", "") not in ("", "specialist", "surface"):
        raise TableError(file, number, cells["only"], "use specialist, surface or leave it empty")
    for column in _YES & cells.keys():
        if cells[column] not in ("", "yes"):
            raise TableError(file, number, cells[column], f"{column}: use yes or leave it empty")
    try:
        pairs = read_limits(cells.get("limits", ""), _STRENGTH.get(name, "usual"))
    except ValueError as error:
        raise TableError(file, number, cells["limits"], str(error)) from error
    notes = []
    for note in _split(cells.get("notes", ""), "|"):
        step, colon, text = note.partition(": ")
        if not colon:
            raise TableError(file, number, note, "write a note as step: sentence")
        notes.append((step, say(text)))
    cells |= {column: say(cells[column]) for column in WORDS if cells.get(column)}
    if cells.get("note_step"):
        notes.append((cells["note_step"], cells["note"]))
    return Row(
        key=PREFIX[name] + cells["key"],
        bare=cells["key"],
        table=name,
        pairs=pairs,
        cells=cells,
        level=cells.get("level", ""),
        scope=cells.get("scope", "") or "piece",
        says=cells["says"],
        only=cells.get("only", ""),
        hazards=tuple(_split(cells.get("hazards", ""), ";")),
        notes=tuple(notes),
    )


@dataclass(frozen=True)
class Book:
    """All tables and what is worked out from them once, so that a decision only looks up."""

    version: str
    tables: dict[str, Table]
    rules: dict[str, Row]
    terms: dict[str, tuple[Row, ...]]
    readings: dict[str, list[Row]]
    agent_bans: dict[str, frozenset[str]]
    mixtures: dict[frozenset[str], Row]
    not_stated: tuple[tuple[str, Row], ...]
    odd_pairs: tuple[tuple[Row, frozenset[str], frozenset[str], frozenset[str]], ...]
    #: fact to the rows that raise a caution on it, fibre to those that ask for its share, and
    #: fact to the notes on what was typed
    whens: dict[str, tuple[When, ...]]
    share_whens: dict[str, tuple[When, ...]]
    notes: dict[str, tuple[When, ...]]
    #: a fibre's name or code on a label, folded, to what it may mean
    meanings: dict[str, tuple[Meaning, ...]]

    def __getitem__(self, name: str) -> Table:
        return self.tables[name]


def load_book(folder: Path = DATA, say: Callable[[str], str] = str) -> Book:
    """Read and check every table of a folder; raises TableError on the first bad row."""
    tables = {name: load_table(name, folder, say) for name in PREFIX}
    rules: dict[str, Row] = {}
    for name, table in tables.items():
        for row in table.values():
            if row.key in rules:
                raise TableError(f"{name}.csv", row.bare, row.key, "this rule key stands twice")
            rules[row.key] = row
    _check_links(tables)
    terms: dict[str, list[Row]] = {}
    for row in tables["terms"].values():
        for alias in _aliases(row.bare):
            terms.setdefault(alias, []).append(row)
    readings: dict[str, list[Row]] = {}
    for row in tables["readings"].values():
        readings.setdefault(row.cells["symbol"], []).append(row)
    return Book(
        version=(folder / "version.txt").read_text(encoding="utf-8").strip(),
        tables=tables,
        rules=rules,
        terms={alias: tuple(rows) for alias, rows in terms.items()},
        readings=readings,
        agent_bans=_agent_bans(tables),
        mixtures={
            frozenset((row.cells["first"], row.cells["second"])): row
            for row in tables["mixtures"].values()
        },
        not_stated=tuple(
            (row.cells["group"], row) for row in tables["ceilings"].values() if row.cells["group"]
        ),
        odd_pairs=tuple(
            (
                row,
                frozenset(row.listed("first")),
                frozenset(row.listed("second")),
                frozenset(row.listed("without")),
            )
            for row in tables["label_rules"].values()
            if row.cells["first"]
        ),
        whens=index(
            [
                *(row for row in _conditional(tables, "caution") if not row.cells.get("share_of")),
                *(row for row in tables["hazards"].values() if row.cells["when"]),
            ]
        ),
        share_whens=index_shares(
            row for row in _conditional(tables, "caution") if row.cells.get("share_of")
        ),
        notes=index(_conditional(tables, "note")),
        meanings=read_meanings(tables["fibre_words"].values()),
    )


def _conditional(tables: dict[str, Table], use: str) -> list[Row]:
    """The rows of a use that speak by a ``when`` or a share."""
    return [
        row
        for name in CONDITIONAL
        for row in tables[name].values()
        if row.cells["use"] == use and (row.cells["when"] or row.cells.get("share_of"))
    ]


def _check_links(tables: dict[str, Table]) -> None:
    """Every key that a row points to stands in its table."""
    for name, table in tables.items():
        for row in table.values():
            links = [(key, "hazards") for key in row.hazards + row.listed("after_when")]
            links += [(key, "agents") for key in row.listed("agents") + row.listed("never")]
            for column in ("share_of", "as_fibre", "fibres"):
                links += [(key, "fibres") for key in row.listed(column)]
            if name in ("readings", "terms"):
                named = row.cells.get("symbol") or row.cells.get("symbols", "")
                links += [(key, "symbols") for key in _split(named, ";")]
            for key, target in links:
                if key not in tables[target]:
                    cure = f"no such row in {target}.csv; mend the key"
                    raise TableError(f"{name}.csv", row.bare, key, cure)
    _check_conditions(tables)
    for row in tables["symbols"].values():
        if row.cells["group"] not in GROUPS:
            cure = f"use a group of {', '.join(GROUPS)}"
            raise TableError("symbols.csv", row.bare, row.cells["group"], cure)


def _check_conditions(tables: dict[str, Table]) -> None:
    """Every fact that a condition names is one that a piece can have, and every fibre exists."""
    known = fields(tables)
    for name in (*CONDITIONAL, "hazards"):
        for row in tables[name].values():
            cells = row.cells
            for group in groups_of(cells["when"]) + groups_of(cells.get("unless", "")):
                for fact in group:
                    field_name, _, value = fact.partition(":")
                    if value not in known.get(field_name, ()):
                        cure = "no piece has this fact; write field:key, such as market:us"
                        raise TableError(f"{name}.csv", row.bare, fact, cure)
            if cells.get("use") == "caution" and not row.level:
                raise TableError(f"{name}.csv", row.bare, "", "a caution needs a level")
    for row in tables["fibre_words"].values():
        named = row.cells["rule"]
        if named and named.removeprefix(PREFIX["composition_rules"]) not in tables[CONDITIONAL[1]]:
            cure = "no such row in composition_rules.csv; mend the key"
            raise TableError("fibre_words.csv", row.bare, named, cure)


def _aliases(term: str) -> set[str]:
    """A term as written, and its alternatives parted by " / " with or without the bracket."""
    whole = term.casefold()
    found = {whole}
    bracket = whole[whole.rindex(" (") :] if whole.endswith(")") and " (" in whole else ""
    bare = whole.removesuffix(bracket) if bracket else whole
    for part in (bare, *bare.split(" / ")):
        found |= {part.strip(), part.strip() + bracket}
    return {alias for alias in found if alias}


def _agent_bans(tables: dict[str, Table]) -> dict[str, frozenset[str]]:
    """Fibre to the spotting agents that must never touch it."""
    bans: dict[str, set[str]] = {}
    for agent in tables["agents"].values():
        named = set(agent.listed("never_on"))
        for fibre in tables["fibres"].values():
            if fibre.bare in named or fibre.cells["family"] in named:
                bans.setdefault(fibre.bare, set()).add(agent.bare)
    return {fibre: frozenset(agents) for fibre, agents in bans.items()}


@each_language
def book() -> Book:
    """The project's own tables in the reader's language, loaded once for each."""
    return load_book(say=gettext)
