"""The care tables as a book to look things up in: groups, search, and the page of one entry."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlencode

from care_rules import Rule, catalogue
from care_rules.pictograms import SPRITE_PREFIX
from care_rules.rows import BEHAVIOUR, HEADINGS, MEANS, Row, row_name
from care_rules.speech import each_language
from care_rules.tables import book
from care_rules.texts import in_words
from care_rules.vocabulary import Entry
from care_rules.wording import forbids, limit_name, value_words
from counter.care.behaviours import behaviours_of, figures_of
from counter.care.wording import (
    BOOK_DETAILS,
    BOOK_GROUPS,
    BOOK_NOTES,
    STRENGTH_NAMES,
    STRENGTH_WORDS,
    TABLE_WORDS,
    provenance_words,
)
from counter.models import Shop

MOST_FOUND = 60
_FIRST_SENTENCE = 160
_ENOUGH_BY_NAME = 8
"""With this many entries of that name, those that only mention it in passing are left out."""


@dataclass(frozen=True)
class Group:
    key: str
    load: Callable[[], Sequence[Entry]]

    @property
    def title(self) -> str:
        return str(BOOK_GROUPS[self.key])


GROUPS = {
    group.key: group
    for group in (
        Group("fibres", catalogue.fibres),
        Group("symbols", catalogue.symbols),
        Group("terms", catalogue.terms),
        Group("trims", catalogue.trims),
        Group("stains", catalogue.stains),
        Group("hazards", catalogue.hazards),
        Group("colours", catalogue.colours),
        Group("constructions", catalogue.constructions),
        Group("damage", catalogue.damages),
        Group("kinds", catalogue.kinds),
        Group("behaviours", catalogue.behaviours),
    )
}
_TABLES = {"trims": ("trims", "colours")}


@dataclass(frozen=True)
class BookSearch:
    """One line of a list. ``care`` names a pictogram."""

    rule: str
    name: str
    group: str
    under: str
    says: str
    care: str = ""

    @property
    def group_title(self) -> str:
        return GROUPS[self.group].title


@dataclass(frozen=True)
class BookLine:
    name: str
    words: str
    strength: str
    never: bool = field(repr=False)


@dataclass(frozen=True)
class Page:
    """Everything that a row of the tables says, for reading, and nothing of it twice."""

    rule: Rule
    lead: str
    name: str
    group: Group | None
    care: str
    level: str
    limits: list[BookLine]
    strengths: list[tuple[str, str]]
    details: list[tuple[str, str]]
    notes: list[str]
    leads_to: list[BookSearch]
    readings: list[tuple[str, str]]
    status: str
    try_it: str


@each_language
def _of_group(key: str) -> tuple[BookSearch, ...]:
    tables = book().tables
    rules = book().rules
    entries = []
    for entry in GROUPS[key].load():
        rows = [
            rules[entry.key] if key == "behaviours" else tables[name].get(entry.key)
            for name in _TABLES.get(key, (key,))
        ]
        row = next(filter(None, rows))
        entries.append(_found(row, entry, key))
    return tuple(entries)


def _found(row: Row, entry: Entry, group: str) -> BookSearch:
    says = entry.says if len(entry.says) <= _FIRST_SENTENCE else _cut(entry.says)
    return BookSearch(row.key, _title(row), group, in_words(entry.group), says, _care(row))


def _title(row: Row) -> str:
    """The name of an entry; how cloth behaves is told apart by what it speaks of."""
    name = _name(row)
    if row.table in (*BEHAVIOUR, *MEANS):
        name = f"{TABLE_WORDS[row.table]}: {name}"
    return f"{name[:1].upper()}{name[1:]}"


def _cut(says: str) -> str:
    return says[:_FIRST_SENTENCE].rsplit(" ", 1)[0].rstrip(",;:") + " …"


def _care(row: Row) -> str:
    return f"{SPRITE_PREFIX}{row.bare}" if row.table == "symbols" else ""


@each_language
def _all() -> tuple[tuple[str, BookSearch], ...]:
    """Every entry with its words to search through: name and key first, then what it says."""
    rules = book().rules
    entries = []
    for key in GROUPS:
        for entry in _of_group(key):
            cells = rules[entry.rule].cells
            names = [cells.get(name, "") for name in ("eu_name", "us_name", "trigger")]
            words = " ".join([entry.name, entry.rule.replace("_", " "), *names]).casefold()
            entries.append((words, entry))
    return tuple(entries)


def browse(key: str) -> list[tuple[str, list[BookSearch]]]:
    """The entries of a group under their smaller headings."""
    under: dict[str, list[BookSearch]] = {}
    for entry in _of_group(key):
        under.setdefault(entry.under, []).append(entry)
    return list(under.items())


def groups() -> list[tuple[Group, int]]:
    return [(group, len(_of_group(key))) for key, group in GROUPS.items()]


def search(typed: str) -> list[BookSearch]:
    """Entries that hold all typed words, names that begin with them first."""
    wanted = " ".join(typed.casefold().replace("_", " ").split())
    if not wanted:
        return []
    parts = wanted.split()
    rules = book().rules
    ranked = []
    for number, (words, entry) in enumerate(_all()):
        name = entry.name.casefold()
        if name.startswith(wanted):
            rank = 0
        elif wanted in name:
            rank = 1
        elif all(part in words for part in parts):
            rank = 2
        elif all(part in rules[entry.rule].says.casefold() for part in parts):
            rank = 3
        else:
            continue
        ranked.append((rank, number, entry))
    ranked.sort(key=lambda item: item[:2])
    named = [item for item in ranked if item[0] < 3]
    if len(named) >= _ENOUGH_BY_NAME:
        ranked = named
    return [entry for _, _, entry in ranked[:MOST_FOUND]]


def page(rule_key: str, shop: Shop) -> Page | None:
    """The page of a rule of the tables, or None for a key that they do not hold."""
    row = book().rules.get(rule_key)
    if row is None:
        return None
    rule = row.rule()
    group = next((g for g in GROUPS.values() if _in_group(row, g.key)), None)
    name = _name(row)
    details = figures_of(row, fahrenheit=shop.fahrenheit) + [
        (str(title), _detail(row, column))
        for column, title in BOOK_DETAILS.items()
        if row.cells.get(column) and row.cells[column] != name
    ]
    lead = _lead(rule.says, name) if rule.limits else rule.says
    notes = [str(words) for column, words in BOOK_NOTES.items() if row.flag(column)]
    notes += [text for _, text in row.notes]
    rules = book().rules
    leads = [*row.hazards, *(f"label.{symbol}" for symbol in row.listed("symbols"))]
    leads += [about.key for about in behaviours_of(row)]
    return Page(
        rule=rule,
        lead=lead,
        name=_title(row),
        group=group,
        care=_care(row),
        level=row.level,
        limits=[
            BookLine(
                limit_name(path),
                value_words(path, value, fahrenheit=shop.fahrenheit),
                str(STRENGTH_NAMES[strength]),
                forbids(path, value),
            )
            for path, value, strength in rule.limits
        ],
        strengths=_strengths(rule),
        details=details,
        notes=[words for words in notes if not _says_already(lead, words)],
        leads_to=[_link(rules[key]) for key in leads if key in rules],
        readings=_readings(row, shop),
        status=provenance_words(rule.provenance),
        try_it=_try(row),
    )


def _lead(says: str, name: str) -> str:
    """What a rule says without its own list of limits, for they stand in the table below it."""
    first, _end, rest = says.partition(". ")
    return rest if rest and first.casefold().startswith(f"{name.casefold()}: ") else says


def _says_already(lead: str, note: str) -> bool:
    """Whether the lead has the words of a note, in their order."""
    words = iter(re.findall(r"\w+", lead.casefold()))
    return all(word in words for word in re.findall(r"\w+", note.casefold()))


def _strengths(rule: Rule) -> list[tuple[str, str]]:
    """How strong its limits are: the name of each strength, and what it means."""
    present = {strength for _path, _value, strength in rule.limits}
    return [
        (str(name), str(STRENGTH_WORDS[strength]))
        for strength, name in STRENGTH_NAMES.items()
        if strength in present
    ]


def _detail(row: Row, column: str) -> str:
    """A cell as people read it; names on labels and numbers of standards stand as they are."""
    cell = row.cells[column]
    return in_words(cell) if column in HEADINGS else cell.replace("_", " ")


def _name(row: Row) -> str:
    return row.cells.get("trigger") or row_name(row)


def _readings(row: Row, shop: Shop) -> list[tuple[str, str]]:
    """How a drawing is read where edition or market make a difference: says, limits."""
    readings = book().readings.get(row.bare, []) if row.table == "symbols" else []
    return [
        (
            reading.says,
            ", ".join(
                f"{limit_name(path)}: {value_words(path, value, fahrenheit=shop.fahrenheit)}"
                for path, value, _strength in reading.rule().limits
            ),
        )
        for reading in readings
    ]


def _in_group(row: Row, key: str) -> bool:
    return any(entry.rule == row.key for entry in _of_group(key))


def _link(row: Row) -> BookSearch:
    return BookSearch(row.key, _title(row), row.table, "", "", _care(row))


def _try(row: Row) -> str:
    """The query that puts this entry into the what-if form; empty where it has no place there."""
    field = {
        "fibres": "fibre-0-0",
        "trims": "trims",
        "stains": "stains",
        "hazards": "hazards",
        "terms": "terms",
        "constructions": "construction",
        "damage": "damage",
        "kinds": "kind",
    }.get(row.table)
    given: dict[str, str] = {"services": "clean", "kind": "other"}
    if row.table == "symbols":
        given |= {"label_state": "read", f"symbol-{row.cells['group']}": row.bare}
    elif row.table == "colours":
        given |= {"colour" if row.cells["kind"] == "colour" else "trims": row.bare}
    elif field:
        given[field] = row.bare
        if row.table == "terms":
            given["label_state"] = "read"
    else:
        return ""
    return urlencode(given)
