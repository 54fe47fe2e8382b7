"""The rule tables together: what points where is checked, and compiled once for the engine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from care_rules.conditions import When, fields, groups_of, index, index_shares
from care_rules.errors import TableError
from care_rules.meanings import Meaning, read_meanings
from care_rules.rows import BEHAVIOUR, CONDITIONAL, DATA, PREFIX, Row, Table, load_table, split
from care_rules.speech import each_language, gettext, gettext_noop
from care_rules.vocabulary import ASKABLE, GROUPS, PARTS


@dataclass(frozen=True, eq=False)
class Book:
    """All tables and what is worked out from them once, so that a decision only looks up."""

    version: str
    tables: dict[str, Table]
    rules: dict[str, Row]
    terms: dict[str, tuple[Row, ...]]
    readings: dict[str, list[Row]]
    agent_bans: dict[str, frozenset[str]]
    mixtures: dict[frozenset[str], Row]
    #: hazard to what it asks of the treatment
    needs: dict[str, tuple[Row, ...]]
    #: stain to what is said of it: what to do, and what never
    stain_words: dict[str, tuple[str, str]]
    not_stated: tuple[tuple[str, Row], ...]
    odd_pairs: tuple[tuple[Row, frozenset[str], frozenset[str], frozenset[str]], ...]
    #: fact to the rows that raise a caution on it, fibre to those that ask for its share, and
    #: fact to the notes on what was typed
    whens: dict[str, tuple[When, ...]]
    share_whens: dict[str, tuple[When, ...]]
    notes: dict[str, tuple[When, ...]]
    #: table to the facts that its rows speak on
    behaviour: dict[str, dict[str, tuple[When, ...]]]
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
        needs=_needs(tables["needs"]),
        stain_words={key: _stain_words(row, say) for key, row in tables["stains"].items()},
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
                *tables["combinations"].values(),
            ]
        ),
        share_whens=index_shares(
            row for row in _conditional(tables, "caution") if row.cells.get("share_of")
        ),
        notes=index(_conditional(tables, "note")),
        behaviour={name: index(tables[name].values()) for name in BEHAVIOUR},
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
            links += [(key, "hazards") for key in row.listed("of")]
            links += [(key, "agents") for key in row.listed("agents") + row.listed("never")]
            links += [(key, "damage") for key in row.listed("heals")]
            links += [(key, "detergents") for key in row.listed("detergent")]
            for column in ("share_of", "as_fibre", "fibres"):
                links += [(key, "fibres") for key in row.listed(column)]
            if name in ("readings", "terms"):
                named = row.cells.get("symbol") or row.cells.get("symbols", "")
                links += [(key, "symbols") for key in split(named, ";")]
            for key, target in links:
                if key not in tables[target]:
                    cure = f"no such row in {target}.csv; mend the key"
                    raise TableError(f"{name}.csv", row.bare, key, cure)
    _check_conditions(tables)
    for row in tables["kinds"].values():
        for column, words in (("has", ASKABLE), ("parts", PARTS)):
            for word in row.listed(column):
                if word not in words:
                    cure = f"use words of {', '.join(words)}"
                    raise TableError("kinds.csv", row.bare, word, cure)
    for row in tables["symbols"].values():
        if row.cells["group"] not in GROUPS:
            cure = f"use a group of {', '.join(GROUPS)}"
            raise TableError("symbols.csv", row.bare, row.cells["group"], cure)


def _check_conditions(tables: dict[str, Table]) -> None:
    """Every fact that a condition names is one that a piece can have, and every fibre exists."""
    known = fields(tables)
    for name in (*CONDITIONAL, *BEHAVIOUR, "combinations", "hazards"):
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
    aliases = {whole}
    bracket = whole[whole.rindex(" (") :] if whole.endswith(")") and " (" in whole else ""
    bare = whole.removesuffix(bracket) if bracket else whole
    for part in (bare, *bare.split(" / ")):
        aliases |= {part.strip(), part.strip() + bracket}
    return {alias for alias in aliases if alias}


def _stain_words(row: Row, say: Callable[[str], str]) -> tuple[str, str]:
    says = row.cells["says"]
    if row.flag("professional"):
        spotter = say(gettext_noop("{says}; leave it to a trained spotter, for it may stay."))
        says = spotter.format(says=says.rstrip("."))
    never = row.cells["never_says"].replace("; ", ", ")
    return says, say(gettext_noop("Forbidden here: {what}.")).format(what=never)


def _needs(table: Table) -> dict[str, tuple[Row, ...]]:
    """Hazard to the rows that say what it asks of the treatment."""
    needs: dict[str, tuple[Row, ...]] = {}
    for row in table.values():
        for hazard in row.listed("of"):
            needs[hazard] = (*needs.get(hazard, ()), row)
    return needs


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
