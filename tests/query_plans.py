"""How SQLite goes through its tables for the queries of a request."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection

GROWS = re.compile(
    r'"(tickets_(?:move|routestep|piece|ticket|customer|customerword|hold)'
    r'|counter_(?:payment|ticketline|pickup|pickuppiece|notice))"(?: "?(\w+)"?)?'
)
"""Tables that grow with the years of a shop, and the name that a query gives them."""

Query = tuple[str, tuple[Any, ...]]


@contextmanager
def queries_noted(noted: list[Query]) -> Iterator[None]:
    """Note each query that is made meanwhile."""

    def note(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        if not many and sql.startswith(("SELECT", "UPDATE", "DELETE")):
            noted.append((sql, tuple(params or ())))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield


def whole_reads(sql: str, params: tuple[Any, ...]) -> list[str]:
    """The steps of a query's plan that read a growing table from end to end.

    An index of open rows alone may be read whole, for it does not grow with the years. So may an
    ordered list that ends after its first rows and leaves none of them out.
    """
    names = {alias or table: table for table, alias in GROWS.findall(sql)}
    names |= {table: table for table, _alias in GROWS.findall(sql)}
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}", params)
        steps = [row[3] for row in cursor.fetchall()]
    sorted_apart = any("USE TEMP B-TREE FOR ORDER BY" in step for step in steps)
    first_rows = "LIMIT" in sql and "WHERE" not in _without_subqueries(sql)
    whole = []
    for step in steps:
        scan = re.match(r"SCAN (\w+)(?: USING (?:COVERING )?INDEX (\w+))?", step)
        if scan is None or scan[1] not in names or (scan[2] and _is_partial(scan[2])):
            continue
        if not (first_rows and not sorted_apart) and not _first_of(scan[1], names[scan[1]], sql):
            whole.append(step)
    return whole


def _without_subqueries(sql: str) -> str:
    """A query without what stands in brackets; of a count over a query, that query."""
    counted = re.fullmatch(r"SELECT COUNT\(\*\) FROM \((.*)\) subquery", sql)
    plain = counted[1] if counted else sql
    while plain != (shorter := re.sub(r"\([^()]*\)", "", plain)):
        plain = shorter
    return plain


def _first_of(name: str, table: str, sql: str) -> bool:
    """Whether a part of a query asks for the first row of a table by its key, as for the newest."""
    newest = f'{name}."id" AS "pk" FROM "{table}" {name} ORDER BY 1 DESC LIMIT 1)'
    return newest in sql


def _is_partial(index: str) -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT sql FROM sqlite_master WHERE name = %s", [index])
        row = cursor.fetchone()
    return bool(row and row[0] and " WHERE " in row[0])
