"""One name, one meaning: no two files, classes or public functions of different meaning share one.

A name that stands twice stands in a list below, with the one meaning that its places share.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ["care_rules", "tickets", "counter"]

ROLE_FILES = {
    "__init__", "admin", "api", "apps", "errors", "filters", "forms", "queries", "refusals",
    "services", "shapes", "urls", "views", "wording",
}  # fmt: skip
"""Files that do the same work in every room; Django names some, the house the others."""

SAME_FILES = {
    "customers": "the table, and the noun made from its rows",
    "drafts": "the table, and the noun made from its rows",
    "machines": "the table, and the noun made from its rows",
    "partners": "the table, and the noun made from its rows",
    "shop": "what the owner tells of the shop: the tables of both floors",
    "opening": "a ticket is opened: its rows, and what the counter adds to them",
    "rush": "a ticket before the others: whom it makes late, and what it costs",
    "decide": "the care decision, asked for by command or over the API",
    "tags": "the tags of a ticket, and the command that prints them",
}

SAME_CLASSES = {
    "Command": "Django finds commands by this name",
    "HouseRule": "a rule of the house: the engine's value and the row it is kept in",
}

SAME_FUNCTIONS = {
    "hold": "the door, and the page that goes through it",
    "release": "the door, and the page that goes through it",
    "return_undone": "the door, and the page that goes through it",
    "hand_over": "pieces leave the shop: one of them, or all of a pickup",
    "open_ticket": "a ticket is opened: its rows, and what the counter adds to them",
    "because": "the reasons, and the template filter that shows them",
    "kind_name": "the words, and the template filter that shows them",
    "limit_lines": "the words, and the template filter that shows them",
    "process_words": "the words, and the template filter that shows them",
    "scan": "one line read: by a board's page, at the board, at a pickup",
    "rule": "the rule of a key: of the tables, or of the tables and the house",
}

EMPTY_NAMES = {"each", "found", "got", "one", "thing", "things", "told"}
"""Names of values that tell nothing of what is held."""


def sources(*folders: str) -> list[Path]:
    paths = (path for folder in folders or APPS for path in (ROOT / folder).rglob("*.py"))
    return sorted(path for path in paths if "migrations" not in path.parts)


def files() -> dict[str, list[str]]:
    places = defaultdict(list)
    for path in sources():
        if path.parent.name != "forms":  # there each file is named after what its form changes
            places[path.stem].append(str(path.relative_to(ROOT)))
    return places


@cache
def defined() -> dict[type, dict[str, list[str]]]:
    """Where each class and function at the top of a file stands, by its kind and name."""
    places: dict[type, dict[str, list[str]]]
    places = {ast.ClassDef: defaultdict(list), ast.FunctionDef: defaultdict(list)}
    for path in sources():
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, (ast.ClassDef, ast.FunctionDef)):
                places[type(node)][node.name].append(str(path.relative_to(ROOT)))
    return places


SAME = {
    "files": {**SAME_FILES, **dict.fromkeys(ROLE_FILES, "")},
    "classes": SAME_CLASSES,
    "functions": SAME_FUNCTIONS,
}


def places_of(what: str) -> dict[str, list[str]]:
    if what == "files":
        return files()
    return defined()[ast.ClassDef if what == "classes" else ast.FunctionDef]


@pytest.mark.parametrize("what", SAME)
def test_no_name_stands_for_two_things(what: str) -> None:
    places, same = places_of(what), SAME[what]
    double = {name: where for name, where in places.items() if len(where) > 1}
    double = {name: where for name, where in double.items() if name[0] != "_" or what == "files"}
    assert {name: where for name, where in double.items() if name not in same} == {}


@pytest.mark.parametrize("what", SAME)
def test_the_lists_name_only_what_stands_twice(what: str) -> None:
    places, same = places_of(what), SAME[what]
    assert [name for name in same if len(places[name]) < 2] == []


def local_names(source: str) -> set[tuple[int, str]]:
    """Line and name of each value and parameter; a field of a class is read with its object."""
    tree = ast.parse(source)
    fields = {
        target
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef)
        for line in node.body
        if isinstance(line, (ast.Assign, ast.AnnAssign))
        for target in ast.walk(line)
    }
    names = {
        (node.lineno, node.id)
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store) and node not in fields
    }
    return names | {(node.lineno, node.arg) for node in ast.walk(tree) if isinstance(node, ast.arg)}


def test_the_search_for_local_names_finds_every_kind() -> None:
    source = (
        "class A:\n    told: int\n"
        "def f(one, *, each):\n    found = [got for got in one]\n    return lambda thing: found\n"
    )
    names = {name for _line, name in local_names(source)}
    assert names == {"one", "each", "found", "got", "thing"}


@pytest.mark.parametrize("folder", [*APPS, "tests"])
def test_a_local_name_says_what_it_holds(folder: str) -> None:
    empty = [
        f"{path.relative_to(ROOT)}:{line} {name}"
        for path in sources(folder)
        for line, name in sorted(local_names(path.read_text(encoding="utf-8")))
        if name in EMPTY_NAMES
    ]
    assert empty == []
