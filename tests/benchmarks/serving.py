"""The product's own server for benchmarks: ``python -m tests.benchmarks.serving``.

It serves the database of ``DATABASE_URL`` as ``manage.py serve`` does, on a free port that it
prints, with two addresses more. ``/bare/`` does no work behind the product's own middleware.
``/locks/`` gives, and forgets, how long each transaction held the write lock and how long its
flush took; both are timed round Django's own begin and commit, so that the product needs no hook.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.db.backends.base.base import BaseDatabaseWrapper
    from django.http import HttpRequest, HttpResponse

ROOT = Path(__file__).resolve().parents[2]
THREADS = 8
"""As in ``manage.py serve``."""

held_ms: list[float] = []
flushed_ms: list[float] = []


def make_demo(database_url: str, folder: Path, days: int) -> None:
    """Fill an empty database with so many days of the demo shop; leaves Django set up on it."""
    os.environ |= _environment(database_url, folder)
    import django
    from django.core.management import call_command
    from django.db import connection

    django.setup()
    from counter.demo.services import load_demo

    call_command("migrate", verbosity=0)
    load_demo(days=days)
    connection.close()


def _environment(database_url: str, folder: Path) -> dict[str, str]:
    return {
        "DJANGO_SETTINGS_MODULE": "counter.settings",
        "DATABASE_URL": database_url,
        "GARMENT_COUNTER_DATA_DIR": str(folder),
        "GARMENT_COUNTER_SECRET_KEY": "only for benchmarks",
        "GARMENT_COUNTER_LOG_LEVEL": "ERROR",
    }


@contextmanager
def serving(database_url: str, folder: Path) -> Iterator[int]:
    """Run the server on a database and give its port on this computer."""
    server = subprocess.Popen(
        [sys.executable, "-m", "tests.benchmarks.serving"],
        cwd=ROOT,
        env={**os.environ, **_environment(database_url, folder)},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert server.stdout is not None
        line = server.stdout.readline()
        if not line:
            raise SystemExit("The server of the benchmark did not start; it says why above.")
        yield int(line)
    finally:
        server.terminate()
        server.wait(timeout=30)


def bare(request: HttpRequest) -> HttpResponse:
    from django.http import HttpResponse

    return HttpResponse("bare", content_type="text/plain")


def locks(request: HttpRequest) -> HttpResponse:
    from django.http import JsonResponse

    measured = {"held_ms": list(held_ms), "flushed_ms": list(flushed_ms)}
    held_ms.clear()
    flushed_ms.clear()
    return JsonResponse(measured)


def watch_locks() -> None:
    """Time each transaction from its begin to its commit, and the commit by itself."""
    from django.db.backends.base.base import BaseDatabaseWrapper as Base
    from django.db.backends.sqlite3.base import DatabaseWrapper as Sqlite

    begin = Sqlite._start_transaction_under_autocommit  # type: ignore[attr-defined]
    commit = Base._commit  # type: ignore[attr-defined]

    def timed_begin(self: Sqlite) -> None:
        begin(self)
        self.__dict__["begun_at"] = time.perf_counter()

    def timed_commit(self: BaseDatabaseWrapper) -> None:
        ready = time.perf_counter()
        commit(self)
        if begun_at := self.__dict__.pop("begun_at", None):
            held_ms.append((ready - begun_at) * 1000)
            flushed_ms.append((time.perf_counter() - ready) * 1000)

    Sqlite._start_transaction_under_autocommit = timed_begin  # type: ignore[attr-defined]
    Base._commit = timed_commit  # type: ignore[attr-defined]


def main() -> None:
    from waitress import create_server

    from counter.wsgi import application

    watch_locks()
    _add_addresses()
    server = create_server(
        application, host="127.0.0.1", port=0, threads=THREADS, ident="garment-counter"
    )
    print(server.effective_port, flush=True)
    server.run()


def _add_addresses() -> None:
    from django.urls import path

    from counter import roles, urls

    roles.ROLES_FOR["bare"] = roles.ROLES_FOR["locks"] = roles.EVERYONE
    urls.urlpatterns += [path("bare/", bare, name="bare"), path("locks/", locks, name="locks")]


if __name__ == "__main__":
    main()
