"""One door round every write: a fair queue in this process, then a database transaction.

SQLite takes one writer at a time. Letting the writers of this process wait in order keeps the
slowest of them quick; PostgreSQL locks rows itself and skips the queue.
"""

from __future__ import annotations

import gc
import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


class FairLock:
    """A lock that serves its waiters in the order they came. Not re-entrant."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._held = False
        self._waiting: deque[threading.Event] = deque()

    def acquire(self) -> None:
        with self._guard:
            if not self._held:
                self._held = True
                return
            turn = threading.Event()
            self._waiting.append(turn)
        turn.wait()

    def release(self) -> None:
        with self._guard:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._held = False


_sqlite_queue = FairLock()

_SAMPLE = 1000
"""Rows of each index that are looked at, so that it takes milliseconds in a shop of any age."""


@contextmanager
def atomic_write() -> Iterator[None]:
    """All or nothing. Inside another transaction it is a savepoint of that one."""
    if connection.vendor != "sqlite" or connection.in_atomic_block:
        with transaction.atomic(), _uncollected():
            yield
        return
    _sqlite_queue.acquire()
    try:
        with transaction.atomic(), _uncollected():
            yield
    finally:
        _sqlite_queue.release()


@contextmanager
def _uncollected() -> Iterator[None]:
    """No garbage is collected meanwhile: a whole pass takes longer than a write may hold the lock.

    A thread that finds the collector at rest leaves it so; who stopped it starts it again.
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def sample_indexes() -> None:
    """Tell SQLite's planner how rows are spread by now; PostgreSQL looks after that by itself.

    What was known is dropped first: only then do connections that are kept open, those of a
    server, read it anew. ``PRAGMA optimize`` leaves them with the plans of a smaller shop.
    """
    if connection.vendor == "sqlite":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"PRAGMA analysis_limit={_SAMPLE}")
            cursor.execute("DROP TABLE IF EXISTS sqlite_stat1")
            cursor.execute("ANALYZE")
