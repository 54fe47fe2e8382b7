"""Do the tests notice a figure that is wrong? A hundred seeded faults in the tables, one at a time.

    python -m tests.care_rules.mutants [COUNT] [SEED]

Each mutant is one cell made wrong: a limit one grade looser, a strength softer, an agent no longer
forbidden, a need lower or gone, a caution milder, a flag dropped. It prints which died of the
frozen list of figures alone, and which of the tests that know their figures from elsewhere: what
reads the same tables as the engine (the oracle, the approved listings) is left out here.

Each mutant is tried in a child of its own, before any decision was made, so nothing is kept.
"""

from __future__ import annotations

import contextlib
import csv
import importlib
import inspect
import io
import itertools
import os
import random
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from care_rules.limits import split_limits
from care_rules.tables import Book, book, load_book
from tests.care_rules import figures

#: The tests whose figures come from elsewhere than the tables.
WITNESSES = (
    "second_hand", "own_sentences", "bounds", "orderings", "worked_pieces", "needs", "figures",
    "more_cases", "ordinary", "trade_facts", "cautions", "limits", "symbols", "editions", "heat",
    "kinds", "sequences", "outside_cases",
)  # fmt: skip
#: Those of them that compare with the list itself.
FROZEN = frozenset({"test_no_figure_changes_unseen"})
GRADES: dict[str, list[str]] = {
    "wash.max_c": ["0", "30", "40", "50", "60", "70", "95"],
    "iron.max_c": ["0", "110", "150", "200", "210"],
    "wash.action": ["very_mild", "mild", "normal"],
    "dry_clean.action": ["very_mild", "mild", "normal"],
    "wet_clean.action": ["very_mild", "mild", "normal"],
    "wash.spin": ["none", "reduced", "normal"],
    "bleach": ["none", "oxygen", "any"],
    "tumble": ["none", "no_heat", "low", "normal"],
    "dry_clean.solvents": ["none", "F", "PF"],
}
SOFTER = {"physical": "common", "usual": "common"}
MILDER = {"refuse": "caution", "hold": "caution", "caution": "info"}
FLAGS = (
    "heat_sets", "wet_check", "test", "remove", "felts", "delicate", "professional", "sleepwear",
)  # fmt: skip
LINKS = ("hazards", "bars", "only", "never", "never_on", "agents")


@dataclass(frozen=True)
class Mutant:
    """One cell of one table with another value in it."""

    table: str
    key: str
    column: str
    value: str
    what: str


def rows(table: str) -> list[dict[str, str]]:
    with (figures.DATA / f"{table}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def looser_limits(table: str, row: dict[str, str]) -> Iterator[Mutant]:
    """Each limit of the row one grade looser; a ban or a demand is dropped."""
    parts = [part.strip() for part in row.get("limits", "").split(";") if part.strip()]
    for at, part in enumerate(parts):
        path, value, strength = split_limits(part)[0]
        grades = GRADES.get(path, [])
        named = f"@{strength}" if "@" in part else ""
        if path.startswith("wet_clean") and strength in ("common", "default"):
            continue  # while no symbol speaks of wet cleaning it is not used at all
        if value in grades[:-1]:
            new = [f"{path}={grades[grades.index(value) + 1]}{named}"]
        elif value in grades:
            continue
        else:
            new = []
        cell = "; ".join([*parts[:at], *new, *parts[at + 1 :]])
        yield Mutant(table, row["key"], "limits", cell, f"{part} -> {new[0] if new else 'gone'}")


def others(table: str, row: dict[str, str]) -> Iterator[Mutant]:
    """A strength softer, a level milder, a flag, a link, an agent or a need dropped."""
    parts = [part.strip() for part in row.get("limits", "").split(";") if part.strip()]
    for at, part in enumerate(parts):
        body, _, strength = part.partition("@")
        # No symbol speaks of a load, so nothing there gives way.
        if (softer := SOFTER.get(strength)) and not body.startswith("load."):
            cell = "; ".join([*parts[:at], f"{body}@{softer}", *parts[at + 1 :]])
            yield Mutant(table, row["key"], "limits", cell, f"{part} -> @{softer}")
    if table in ("trims", "hazards", "notices") and row.get("level") in MILDER:
        milder = MILDER[row["level"]]
        yield Mutant(table, row["key"], "level", milder, f"level {row['level']} -> {milder}")
    for column in FLAGS:
        if row.get(column) == "yes":
            yield Mutant(table, row["key"], column, "", f"{column} gone")
    for column in LINKS:
        for gone in [item for item in row.get(column, "").split(";") if item]:
            left = ";".join(item for item in row[column].split(";") if item != gone)
            yield Mutant(table, row["key"], column, left, f"{column}: {gone.strip()} gone")
    if table == "needs":
        for gone in row["of"].split(";"):
            left = ";".join(item for item in row["of"].split(";") if item != gone)
            yield Mutant(table, row["key"], "of", left or "slip.floor", f"of: {gone} gone")
        if row["value"]:
            lower = str(int(row["value"]) - 1)
            yield Mutant(table, row["key"], "value", lower, f"value {row['value']} -> {lower}")


#: What decides of a piece; words on labels and house notices have tests of another kind.
TABLES = (
    "fibres", "trims", "stains", "hazards", "kinds", "symbols", "colours", "damage", "needs",
    "constructions", "ceilings", "combinations", "agents",
)  # fmt: skip


def drawn(count: int, seed: int) -> list[Mutant]:
    """Seeded mutants, a little more than half of them limits one grade looser."""
    chance = random.Random(seed)
    every = [(table, row) for table in TABLES for row in rows(table)]
    limits = [mutant for table, row in every for mutant in looser_limits(table, row)]
    rest = [mutant for table, row in every for mutant in others(table, row)]
    first = count * 55 // 100
    return [*chance.sample(limits, first), *chance.sample(rest, count - first)]


def written(mutant: Mutant, folder: Path) -> None:
    path = folder / f"{mutant.table}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file)
        names = list(reader.fieldnames or [])
        changed = list(reader)
    wrong = next(row for row in changed if row["key"] == mutant.key)
    wrong[mutant.column] = mutant.value
    # A status may name what the mutant drops; the loader would refuse that before any test.
    wrong["status"] = "memory"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, names, lineterminator="\n")
        writer.writeheader()
        writer.writerows(changed)


Check = tuple[str, Callable[..., None], dict[str, Any]]


def checks() -> list[Check]:
    """Every test of the witnesses that needs no fixture, once for each set of its parameters."""
    every: list[Check] = []
    for name in WITNESSES:
        module = importlib.import_module(f"tests.care_rules.test_{name}")
        for title, test in vars(module).items():
            if not title.startswith("test_") or title in FROZEN or not callable(test):
                continue
            if test.__module__ == module.__name__ and not hasattr(test, "hypothesis"):
                every += [(f"{name}.{title}", test, given) for given in parameters(test)]
    return every


def parameters(test: Callable[..., None]) -> Iterator[dict[str, Any]]:
    marks = [mark.args for mark in getattr(test, "pytestmark", []) if mark.name == "parametrize"]
    named = [
        [name.strip() for name in (args[0].split(",") if isinstance(args[0], str) else args[0])]
        for args in marks
    ]
    if {name for names in named for name in names} != set(inspect.signature(test).parameters):
        return
    for values in itertools.product(*(args[1] for args in marks)):
        given: dict[str, Any] = {}
        for names, value in zip(named, values, strict=True):
            inner = getattr(value, "values", value) if not isinstance(value, dict) else value
            given |= dict(zip(names, [inner] if len(names) == 1 else inner, strict=True))
        yield given


def witness(mutant: Mutant, every: list[Check]) -> str:
    """The first check that fails on the mutant, tried in a child; empty where none does."""
    reader, writer = os.pipe()
    if child := os.fork():
        os.close(writer)
        with os.fdopen(reader) as answer:
            said = answer.read()
        os.waitpid(child, 0)
        return said
    os.close(reader)
    said = "?"
    with contextlib.suppress(BaseException):
        said = _tried(mutant, every)
    with os.fdopen(writer, "w") as answer:
        answer.write(said)
    os._exit(0)


def _tried(mutant: Mutant, every: list[Check]) -> str:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "data"
        shutil.copytree(figures.DATA, folder)
        written(mutant, folder)
        try:
            wrong = load_book(folder)
        except ValueError:
            return "tables: the loader refuses it"
    for field in fields(Book):
        object.__setattr__(book(), field.name, getattr(wrong, field.name))
    with contextlib.redirect_stdout(io.StringIO()):
        for name, test, given in every:
            try:
                test(**given)
            except Exception:  # any fault of a check is its answer
                return name
    return ""


def frozen(mutant: Mutant) -> bool:
    """Whether the frozen list of figures differs once the mutant stands in the tables."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "data"
        shutil.copytree(figures.DATA, folder)
        written(mutant, folder)
        held = figures.LIST.read_text(encoding="utf-8").splitlines()
        return [figures.version(folder), *figures.figures(folder)] != held


def run(count: int, seed: int) -> None:
    every = checks()
    row = rows("fibres")[0]
    if by := witness(Mutant("fibres", row["key"], "limits", row["limits"], "as it is"), every):
        raise SystemExit(f"{by} fails on the tables as they are; mend that first")
    dead: Counter[str] = Counter()
    listed = 0
    for mutant in drawn(count, seed):
        by = witness(mutant, every)
        dead[by.partition(".")[0] if by else "nobody"] += 1
        listed += frozen(mutant)
        if not by:
            print(f"alive: {mutant.table}/{mutant.key}: {mutant.what}")
    print(f"{count} mutants, {listed} seen by the list of figures;")
    print(f"{count - dead['nobody']} die without it: {dict(dead.most_common())}")


if __name__ == "__main__":
    count, seed = [int(word) for word in (*sys.argv[1:], "100", "11")[:2]]
    run(count, seed)
