"""One name, one meaning: no two files, classes or public functions of different meaning share one.

A name that stands twice stands in a list below, with the one meaning that its places share.
"""

from __future__ import annotations

import ast
from collections import defaultdict
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


def sources() -> list[Path]:
    paths = (path for app in APPS for path in (ROOT / app).rglob("*.py"))
    return sorted(path for path in paths if "migrations" not in path.parts)


def files() -> dict[str, list[str]]:
    places = defaultdict(list)
    for path in sources():
        if path.parent.name != "forms":  # there each file is named after what its form changes
            places[path.stem].append(str(path.relative_to(ROOT)))
    return places


def defined(kind: type[ast.stmt]) -> dict[str, list[str]]:
    """Where each class or function at the top of a file stands, by its name."""
    places = defaultdict(list)
    for path in sources():
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, kind) and isinstance(node, (ast.ClassDef, ast.FunctionDef)):
                places[node.name].append(str(path.relative_to(ROOT)))
    return places


CASES = {
    "files": (files(), {**SAME_FILES, **dict.fromkeys(ROLE_FILES, "")}),
    "classes": (defined(ast.ClassDef), SAME_CLASSES),
    "functions": (defined(ast.FunctionDef), SAME_FUNCTIONS),
}


@pytest.mark.parametrize("what", CASES)
def test_no_name_stands_for_two_things(what: str) -> None:
    places, same = CASES[what]
    double = {name: where for name, where in places.items() if len(where) > 1}
    double = {name: where for name, where in double.items() if name[0] != "_" or what == "files"}
    assert {name: where for name, where in double.items() if name not in same} == {}


@pytest.mark.parametrize("what", CASES)
def test_the_lists_name_only_what_stands_twice(what: str) -> None:
    places, same = CASES[what]
    assert [name for name in same if len(places[name]) < 2] == []
