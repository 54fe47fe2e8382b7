"""A noun is handed its values: it asks no query, but for the readers named here.

Where tables are touched at all is held by ``tests/test_structure.py``; this test holds who may call
those that touch them.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.test_structure import DJANGO_S_OWN, FLOORS, MADE_UP, ROOT, has_role, modules_of

ASKING = (
    "services", "queries", "views", "api", "forms", "filters", "shapes", "refusals", "templatetags",
)  # fmt: skip
"""Roles that may ask: doors and queries, what carries, and what says where a piece is instead."""

CARRYING = ("_scans", "_views")

READERS = {
    "tickets/loads/bags.py": "the send-out floor, read once and planned",
    "tickets/loads/proposals.py": "the floor of a station, read once and planned",
    "tickets/plan/shop_day.py": "the shop's day, read once and played",
    "tickets/promise/history.py": "the history that promises are judged by and learned from",
    "tickets/promise/open_work.py": "the one reader of open work, which keeps what it read",
    "tickets/tracking/replay.py": "the check that plays all moves anew, ticket by ticket",
    "counter/intake/judge.py": "the one judgement of a draft, made before the write lock",
    "counter/owner/day.py": "figures of a day: each stands beside the rows it is counted from",
    "counter/owner/late.py": "the late list, which stands without forecast in a closed shop",
    "counter/owner/lists.py": "the list behind each figure: one query for the one asked for",
    "counter/owner/now.py": "figures of this moment: each stands beside its rows",
    "counter/owner/quarter.py": "figures of ninety days, from five queries",
    "counter/site/api_pages.py": "the framework's paginator: handed a query, counts and cuts it",
    "counter/site/learning.py": "the thread beside the server: whether learning is due",
    "counter/staff/signing_in.py": "the framework's sign-in, which looks a person up",
}
"""Nouns whose job is to read and reckon in one go, with the reason."""


def queries_called(source: str) -> Iterator[str]:
    """Functions of a file or folder ``queries`` that a source takes by name or calls through it;
    types and constants of theirs are none."""
    tree = ast.parse(source)
    modules: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            is_asked = "queries" in (node.module or "").split(".")
            for alias in node.names:
                if is_asked and alias.name.islower():
                    yield alias.name
                elif alias.name == "queries":
                    modules.add(alias.asname or alias.name)
    attributes = (node for node in ast.walk(tree) if isinstance(node, ast.Attribute))
    yield from (
        node.attr
        for node in attributes
        if node.attr.islower() and ast.unparse(node.value) in modules
    )


def is_noun(path: Path) -> bool:
    """Whether a file of a room has none of the roles that may ask."""
    parts = path.relative_to(ROOT).parts
    return (
        len(parts) > 2
        and not {*parts} & (DJANGO_S_OWN | MADE_UP)
        and not any(has_role(path, role) for role in ASKING)
        and not path.stem.endswith(CARRYING)
    )


def asking_nouns() -> dict[str, list[str]]:
    """Nouns that ask a query, with the queries."""
    paths = (path for floor in FLOORS for path in modules_of(floor) if is_noun(path))
    asked = {
        str(path.relative_to(ROOT)): sorted(set(queries_called(path.read_text(encoding="utf-8"))))
        for path in paths
    }
    return {path: names for path, names in asked.items() if names}


def test_a_query_is_seen_however_it_is_called() -> None:
    source = """
from tickets.shop.queries import read_calendar, Machinery
from tickets.promise.queries.rows import open_rows
from counter.owner import queries
from tickets.loads import queries as loadrows
LATE = queries.SENT_BACK
def figures(day: queries.Day):
    return queries.due_on(day), loadrows.inside(day)
"""
    assert sorted(queries_called(source)) == ["due_on", "inside", "open_rows", "read_calendar"]


@pytest.mark.parametrize(
    ("path", "noun"),
    [
        ("tickets/loads/planner.py", True),
        ("counter/money/wording.py", True),
        ("counter/shop/wording/table_rows.py", True),
        ("tickets/boards/rack_scans.py", False),
        ("tickets/promise/queries/open_rows.py", False),
        ("counter/intake/shapes.py", False),
        ("counter/models/shop.py", False),
        ("tickets/choices.py", False),
    ],
)
def test_a_file_s_role_says_whether_it_asks(path: str, noun: bool) -> None:
    assert (ROOT / path).is_file()
    assert is_noun(ROOT / path) == noun


def test_a_noun_is_handed_its_values() -> None:
    strangers = {path: names for path, names in asking_nouns().items() if path not in READERS}
    assert strangers == {}


def test_each_reader_still_asks() -> None:
    assert READERS.keys() - asking_nouns().keys() == set()
