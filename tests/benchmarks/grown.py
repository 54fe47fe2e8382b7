"""A shop's database grown in bulk: closed and open tickets copied many times, inside SQLite.

A ticket is copied with all that hangs on it. Copies of closed tickets lie in the past, up to ten
years back, and bring customers of their own, each with another phone; copies of open ones are of
today. Loads keep their own pieces alone: the copy of a piece that lies in a machine waits beside
it.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tickets.numbers import piece_code

DAYS_APART, MOST_DAYS = 7, 3640
"""How many days each copy of the past lies further back than the one before, and the most: whole
weeks, so that a Sunday stays one and every week of the ten years has its share."""

_PHONE_DIGITS, _PHONES_APART = 6, 10_007
"""How many last digits of a customer's phone differ from copy to copy, and by how much."""

_MANY_ROWS = 1_000_000
"""From so many new moves on, indexes are dropped before and made again after."""

_OF_TICKET = "ticket_id IN (SELECT id FROM chosen)"
_OF_PIECE = f"piece_id IN (SELECT id FROM tickets_piece WHERE {_OF_TICKET})"
_OF_CUSTOMER = "(SELECT customer_id FROM tickets_ticket WHERE id IN (SELECT id FROM chosen))"

_CUSTOMERS = {
    "tickets_customer": f"id IN {_OF_CUSTOMER}",
    "tickets_customerword": f"customer_id IN {_OF_CUSTOMER}",
}
_VISITS = {
    "tickets_ticket": "id IN (SELECT id FROM chosen)",
    "tickets_piece": _OF_TICKET,
    "tickets_routestep": _OF_PIECE,
    "tickets_move": _OF_PIECE,
    "tickets_hold": _OF_PIECE,
    "tickets_acceptance": _OF_PIECE,
    "counter_ticketline": _OF_TICKET,
    "counter_payment": _OF_TICKET,
    "counter_notice": _OF_TICKET,
    "counter_pickup": _OF_TICKET,
    "counter_pickuppiece": f"pickup_id IN (SELECT id FROM counter_pickup WHERE {_OF_TICKET})",
}
"""Each table that is copied, and which of its rows belong to the tickets chosen."""


def open_file(path: Path) -> sqlite3.Connection:
    """A database file to grow, without a journal: what breaks off half-way is thrown away."""
    database = sqlite3.connect(path, isolation_level=None)
    for value in ("DELETE", "OFF"):  # what a server left in its journal is taken over first
        database.execute(f"PRAGMA journal_mode={value}")
    database.execute("PRAGMA synchronous=OFF")
    database.execute("PRAGMA cache_size=-1000000")
    return database


def close(database: sqlite3.Connection, path: Path) -> None:
    """Close a file that was grown and wait until the disk has it: what is still on its way would
    slow the first commits that are measured."""
    database.close()
    with path.open("rb") as file:
        os.fsync(file.fileno())


def grow_past(database: sqlite3.Connection, moves: int) -> None:
    """Copy closed tickets until the shop has made at least so many moves."""
    missing = moves - _count(database, "tickets_move")
    closed = "SELECT id FROM tickets_ticket WHERE closed_at IS NOT NULL ORDER BY id LIMIT 60"
    with _chosen(database, closed):
        a_copy = _count(database, "tickets_move", _OF_PIECE)
        if missing > 0:
            _copy(database, {**_CUSTOMERS, **_VISITS}, -(-missing // a_copy), past=True)


def grow_open(database: sqlite3.Connection, tickets: int) -> None:
    """Copy open tickets until so many are open."""
    still_open = "closed_at IS NULL"
    pattern = _count(database, "tickets_ticket", still_open)
    while (missing := tickets - _count(database, "tickets_ticket", still_open)) > 0:
        size = min(missing, pattern)
        chosen = f"SELECT id FROM tickets_ticket WHERE {still_open} ORDER BY id LIMIT {size}"
        with _chosen(database, chosen):
            _copy(database, _VISITS, missing // size, past=False)


def analyze(database: sqlite3.Connection) -> None:
    """Tell SQLite's planner how rows are spread, from a sample of each index."""
    database.execute("PRAGMA analysis_limit=1000")
    database.execute("ANALYZE")


def _count(database: sqlite3.Connection, table: str, where: str = "1") -> int:
    rows: int = database.execute(f"SELECT count(*) FROM {table} WHERE {where}").fetchone()[0]
    return rows


@contextmanager
def _chosen(database: sqlite3.Connection, tickets: str) -> Iterator[None]:
    """The tickets to copy, as the table ``chosen``."""
    database.execute(f"CREATE TEMP TABLE chosen AS {tickets}")
    try:
        yield
    finally:
        database.execute("DROP TABLE temp.chosen")


def _copy(database: sqlite3.Connection, tables: dict[str, str], copies: int, *, past: bool) -> None:
    database.create_function("piece_code", 2, piece_code, deterministic=True)
    database.create_function("phone_of_copy", 2, phone_of_copy, deterministic=True)
    database.create_function("reversed", 1, lambda text: text[::-1], deterministic=True)
    database.execute(
        "CREATE TEMP TABLE copies AS WITH RECURSIVE counted(number) AS "
        "(VALUES (0) UNION ALL SELECT number + 1 FROM counted WHERE number + 1 < ?) SELECT number, "
        "'-' || (? + number * ? % ?) || ' days' AS back FROM counted",
        (copies, DAYS_APART, DAYS_APART, MOST_DAYS),
    )
    shifts: dict[str, str] = {}
    for table, where in tables.items():
        database.execute(
            f"CREATE TEMP TABLE pattern_{table} AS SELECT * FROM {table} WHERE {where}"
        )
        shifts[table] = _shift(database, table, "id")
    shifts["number"] = _number_of_tickets(database)
    with _indexes_aside(database, tables, copies):
        database.execute("SAVEPOINT copied")
        for table in tables:
            columns = _columns(database, table, shifts, past=past)
            database.execute(
                f"INSERT INTO {table} ({', '.join(columns)}) SELECT {', '.join(columns.values())} "
                f"FROM copies CROSS JOIN pattern_{table} AS row"
            )
        database.execute("RELEASE copied")
    for table in ("copies", *(f"pattern_{table}" for table in tables)):
        database.execute(f"DROP TABLE temp.{table}")


def _shift(database: sqlite3.Connection, table: str, column: str) -> str:
    """What is added to a number of the pattern for its copies, which follow all numbers in use."""
    low, high, top = database.execute(
        f"SELECT min({column}), max({column}), (SELECT max({column}) FROM {table}) "
        f"FROM temp.pattern_{table}"
    ).fetchone()
    return "0" if low is None else f"{top + 1 - low} + copies.number * {high + 1 - low}"


def _number_of_tickets(database: sqlite3.Connection) -> str:
    """The number of a copied ticket, less its ``place`` in the pattern: a shop leaves no number
    out, and there are not nine million."""
    place = "(SELECT count(*) FROM pattern_tickets_ticket AS one WHERE one.number < its.number)"
    database.execute("ALTER TABLE pattern_tickets_ticket ADD COLUMN place")
    database.execute(f"UPDATE pattern_tickets_ticket AS its SET place = {place}")
    top = database.execute("SELECT max(number) FROM tickets_ticket").fetchone()[0]
    return f"{top + 1} + copies.number * {_count(database, 'temp.pattern_tickets_ticket')}"


def _columns(
    database: sqlite3.Connection, table: str, shifts: dict[str, str], *, past: bool
) -> dict[str, str]:
    """What each column of a copy holds, as SQL over ``row`` and ``copies``."""
    values: dict[str, str] = {}
    for _place, name, kind, *_more in database.execute(f"PRAGMA table_info({table})"):
        values[f'"{name}"'] = f'row."{name}"'
        if past and kind == "datetime":
            values[f'"{name}"'] = f"strftime('%Y-%m-%d %H:%M:%f', row.\"{name}\", copies.back)"
        if past and kind == "date":
            values[f'"{name}"'] = f'date(row."{name}", copies.back)'
    for key in database.execute(f"PRAGMA foreign_key_list({table})"):
        target, name = key[2], key[3]
        if target == table:  # the same garment at another visit
            values[f'"{name}"'] = "NULL"
        elif target in shifts:
            values[f'"{name}"'] = f'row."{name}" + {shifts[target]}'
    own_id = f"row.id + {shifts[table]}"
    values['"id"'] = own_id
    if '"client_key"' in values:
        values['"client_key"'] = f"printf('%08x', {own_id}) || substr(row.client_key, 9)"
    if table == "tickets_customer":
        phone = "phone_of_copy(row.phone, copies.number)"
        values['"phone"'], values['"phone_reversed"'] = phone, f"reversed(ltrim({phone}, '+'))"
    if table == "tickets_ticket":
        values['"number"'] = f"row.place + {shifts['number']}"
    if table == "tickets_piece":
        place = "(SELECT place FROM pattern_tickets_ticket WHERE id = row.ticket_id)"
        values['"code"'] = f"piece_code({place} + {shifts['number']}, row.position)"
    return values


def phone_of_copy(phone: str, number: int) -> str:
    """The phone of a customer's copy of that number; whoever has none has none there."""
    if not phone:
        return ""
    start, end = phone[:-_PHONE_DIGITS], int(phone[-_PHONE_DIGITS:])
    return start + f"{(end + (number + 1) * _PHONES_APART) % 10**_PHONE_DIGITS:0{_PHONE_DIGITS}}"


@contextmanager
def _indexes_aside(
    database: sqlite3.Connection, tables: dict[str, str], copies: int
) -> Iterator[None]:
    """Where many rows are added, indexes are made at the end: sorted once is quicker."""
    many = copies * _count(database, "temp.pattern_tickets_move") >= _MANY_ROWS
    made = database.execute(
        "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
    ).fetchall()
    aside = [(name, sql) for name, table, sql in made if many and table in tables]
    for name, _sql in aside:
        database.execute(f"DROP INDEX {name}")
    yield
    for _name, sql in aside:
        database.execute(sql)
