"""The rows of the rule tables: read from their files and checked cell by cell.

Every row needs a key, a source and a status; a bad cell raises TableError naming the file, the
row, the value and the cure. Keys inside a file are bare; a rule key is prefix and bare key,
such as ``fibre.wool``; hazards and house notices keep their own.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from care_rules.errors import TableError
from care_rules.limits import AXES, COMMON, Pair, read_limits, split_limits
from care_rules.provenance import Provenance, read_provenance
from care_rules.speech import gettext
from care_rules.vocabulary import LEVELS, SPECIALISTS, Rule

DATA = Path(__file__).resolve().parent / "data"

#: File stem to the prefix of its rule keys.
PREFIX = {
    "symbols": "label.",
    "ceilings": "label.",
    "readings": "reading.",
    "terms": "term.",
    "label_rules": "label_rule.",
    "composition_rules": "composition_rule.",
    "combinations": "combination.",
    "fibres": "fibre.",
    "fibre_words": "word.",
    "colours": "colour.",
    "trims": "trim.",
    "constructions": "construction.",
    "kinds": "kind.",
    "stains": "stain.",
    "agents": "agent.",
    "mixtures": "mixture.",
    "detergents": "detergent.",
    "baths": "bath.",
    "drying": "drying.",
    "pressing": "pressing.",
    "shrinkage": "shrinkage.",
    "finishes": "finish.",
    "solvents": "fluid.",
    "fastness": "fastness.",
    "hazards": "",
    "needs": "need.",
    "damage": "damage.",
    "work": "work.",
    "notices": "",
}
#: The tables whose rows speak by a condition only; a hazard may, and may also be told.
CONDITIONAL = ("label_rules", "composition_rules")
#: The tables that say how cloth behaves. Their rows limit nothing and warn of nothing: a step is
#: worked by them, and the care book shows them.
BEHAVIOUR = ("baths", "drying", "pressing", "shrinkage", "finishes")
#: Tables of what the shop works with, chosen by the way of cleaning.
MEANS = ("solvents", "fastness")
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
    "start",
    "does",
    "never_says",
    "fibre_says",
    "fix",
    "before_says",
    "warm_says",
    "note",
)
#: The columns that sort or grade rows by a plain word. They stay keys; ``in_words`` reads them out.
HEADINGS = (
    "group",
    "family",
    "class",
    "kind",
    "topic",
    "shrink",
    "crease",
    "lint",
    "astm",
    "by",
    "cloth",
    "pad",
    "steam",
    "vacuum",
    "removed_by",
    "restored_by",
)
#: From the firmest to what a label's own words take the place of.
STRENGTHS = ("physical", "usual", "common", "default")
_YES = frozenset(
    {
        "modifier",
        "forbids",
        "lifts",
        "remove",
        "test",
        "wet_check",
        "felts",
        "air",
        "instead",
        "final",
        "enzymes_harm",
        "named",
        "damp",
        "delicate",
    }
)
#: How much a label answers that names an open way: the question, or all of what the row says.
_SETTLES = ("", "yes", "quiet")
#: What a fibre asks: a caution of a level, or a question where solvent alone is left for it.
_ASKS = ("", *LEVELS, "solvent")


@dataclass(frozen=True, slots=True)
class Row:
    """One rule row. ``pairs`` is what it limits; ``cells`` keeps every column as written."""

    key: str
    bare: str
    table: str
    pairs: tuple[Pair, ...]
    cells: dict[str, str] = field(repr=False)
    provenance: Provenance
    level: str = ""
    scope: str = ""
    says: str = ""
    only: str = ""
    #: which specialist, where ``only`` asks for one
    whom: str = ""
    hazards: tuple[str, ...] = ()
    bars: tuple[str, ...] = ()
    notes: tuple[tuple[str, str], ...] = ()
    #: whether one of the pairs gives way to the label's own symbol
    common: bool = False
    #: the place of its caution among those of one level: by what it costs to pass it over, people
    #: first, and then by the station that meets it first
    place: tuple[int, int] = (0, 0)

    def flag(self, column: str) -> bool:
        return self.cells.get(column) == "yes"

    def listed(self, column: str) -> tuple[str, ...]:
        return tuple(split(self.cells.get(column, ""), ";"))

    def rule(self) -> Rule:
        """The row as a reader sees it; its strength is that of its firmest limit."""
        limits = split_limits(self.cells.get("limits", ""), _STRENGTH.get(self.table, "usual"))
        strengths = {strength for _, _, strength in limits}
        firmest = next((s for s in STRENGTHS if s in strengths), "usual")
        return Rule(
            self.key,
            self.table,
            self.says,
            self.cells["source"],
            self.cells["clause"],
            self.provenance,
            firmest,
            tuple(limits),
        )


Table = dict[str, Row]


def row_name(row: Row) -> str:
    """What people call a rule row."""
    named = row.cells.get("name") or row.cells.get("trigger")
    return named or gettext(row.bare.replace("_", " "))


def split(text: str, mark: str) -> list[str]:
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
    try:
        provenance = read_provenance(cells)
    except ValueError as error:
        raise TableError(file, number, cells["status"], f"status: {error}") from error
    if cells.get("level", "") not in ("", *LEVELS):
        raise TableError(file, number, cells["level"], f"use a level of {', '.join(LEVELS)}")
    if cells.get("scope", "") not in ("", "piece", "step"):
        raise TableError(file, number, cells["scope"], "use the scope piece or step")
    for column, words in (("label_settles", _SETTLES), ("ask", _ASKS)):
        if cells.get(column, "") not in words:
            cure = f"{column}: use one of {', '.join(words[1:])}, or leave it empty"
            raise TableError(file, number, cells[column], cure)
    if cells.get("use", "") not in ("", *USES):
        raise TableError(file, number, cells["use"], f"use one of {', '.join(USES)}")
    if cells.get("use") == "text" and not cells.get("how"):
        raise TableError(file, number, cells["key"], "say in the column 'how' why it is text only")
    only, _colon, whom = cells.get("only", "").partition(": ")
    if only not in ("", "specialist", "surface") or (whom or "leather") not in SPECIALISTS:
        cure = f"use surface, or specialist: and one of {', '.join(SPECIALISTS)}"
        raise TableError(file, number, cells["only"], cure)
    for column in _YES & cells.keys():
        if cells[column] not in ("", "yes"):
            raise TableError(file, number, cells[column], f"{column}: use yes or leave it empty")
    try:
        pairs = read_limits(cells.get("limits", ""), _STRENGTH.get(name, "usual"))
    except ValueError as error:
        raise TableError(file, number, cells["limits"], str(error)) from error
    notes = []
    for note in split(cells.get("notes", ""), "|"):
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
        provenance=provenance,
        level=cells.get("level", ""),
        scope=cells.get("scope", "") or "piece",
        says=cells["says"],
        only=only,
        whom=whom,
        hazards=tuple(split(cells.get("hazards", ""), ";")),
        bars=tuple(split(cells.get("bars", ""), ";")),
        notes=tuple(notes),
        common=any(softness == COMMON for _axis, _severity, softness in pairs),
        place=_place(name, cells["key"], pairs),
    )


#: What it costs to pass a table's caution over: 0 people, 1 the piece, 2 a mark, 3 a question.
_COSTS = {"hazards": 0, "needs": 0, "stains": 2, "colours": 2, "composition_rules": 3, "work": 3}
_BENCH, _SPOTTING, _WASH, _DRY, _PRESS = 1, 2, 3, 4, 5
_STATIONS = {"damage": _BENCH, "work": _BENCH, "stains": _SPOTTING}


def _place(table: str, key: str, pairs: tuple[Pair, ...]) -> tuple[int, int]:
    cost = _COSTS.get(table, 1)
    if table == "notices" and not key.startswith("label."):
        cost = 3
    if table in _STATIONS:
        return cost, _STATIONS[table]
    return cost, min((_station(axis) for axis, _severity, _softness in pairs), default=0)


def _station(axis: int) -> int:
    treatment = AXES[axis].partition(".")[0]
    return {"tumble": _DRY, "air_dry": _DRY, "iron": _PRESS}.get(treatment, _WASH)
