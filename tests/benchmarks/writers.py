"""25 people who scan at once: ``python -m tests.benchmarks.writers [--seconds 20]``.

The demo's pieces stand ready in a database of their own, in the file or in the empty PostgreSQL
database that ``DATABASE_URL`` names, and the product's own server before it (``serving``). Each
writer scans pieces of its own over a kept connection, one scan after the other, and sends them
back when their route is done. Failed is whatever is not answered as done; what was acknowledged is
then compared with the moves that the database holds. The last line is one JSON object.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.benchmarks.serving import make_demo, serving
from tests.benchmarks.tills import Till, fresh_key

WRITERS, SECONDS = 25, 20
DEMO_DAYS = 8


@dataclass
class Writer:
    """One person with one piece: what each scan took in ms, and what was not answered as done."""

    code: str
    station: str
    first: str
    keys: list[str] = field(default_factory=list)
    ms: list[float] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)

    def work(self, port: int, token: str, until: float) -> None:
        till = Till(port)
        till.token = token
        while time.perf_counter() < until:
            key = fresh_key()
            if self.station == "assembly":
                path = f"/api/v1/pieces/{self.code}/redo/"
                sent = {"station": self.first, "reason": "once more", "client_key": key}
            else:
                path = "/api/v1/scan/"
                sent = {"code": self.code, "station": self.station, "client_key": key}
            answer = till.post_json(path, sent)
            if answer.status not in (200, 201) or answer.json.get("tone", "good") != "good":
                self.failed.append(f"{answer.status} {answer.body[:300]!r}")
                continue
            self.keys.append(key)
            self.ms.append(answer.ms)
            self.station = answer.json["piece"]["station"]
        till.close()


def writers() -> list[Writer]:
    """Everybody, each with a jumper just taken in: nothing is asked about it at any station."""
    from django.contrib.auth.models import User

    from tests import building

    front = User.objects.get(username="rosa")
    customer = building.make_customer()
    people = []
    for _ in range(WRITERS):
        piece = building.make_ticket(front, customer=customer).pieces.get()
        people.append(Writer(piece.code, piece.station, piece.station))
    return people


def measure(database_url: str, folder: Path, seconds: int) -> dict[str, Any]:
    from django.db import connection

    from counter.demo.services import PASSWORD

    people = writers()
    connection.close()
    with serving(database_url, folder) as port:
        till = Till(port)
        till.take_token("imre", PASSWORD)
        till.close()
        until = time.perf_counter() + seconds
        threads = [
            threading.Thread(target=person.work, args=(port, till.token, until))
            for person in people
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    ms = [took for person in people for took in person.ms]
    failed = [says for person in people for says in person.failed]
    keys = [key for person in people for key in person.keys]
    p50, p99 = statistics.median(ms), statistics.quantiles(ms, n=100, method="inclusive")[-1]
    for says in failed[:5]:
        print(f"failed: {says}")
    return {
        "benchmark": "writers",
        "engine": connection.vendor,
        "writers": WRITERS,
        "seconds": seconds,
        "scans_per_second": round(len(ms) / seconds, 1),
        "p50_ms": round(p50, 1),
        "p99_ms": round(p99, 1),
        "p99_to_p50": round(p99 / p50, 2),
        "failed": len(failed),
        "acknowledged": len(keys),
        "written": written(keys),
    }


def written(keys: list[str]) -> int:
    """How many of the keys stand on a move in the database."""
    from tickets.models import Move

    held = Move.objects.exclude(client_key=None).values_list("client_key", flat=True)
    return len(set(keys) & set(held))


def main() -> None:
    parser = argparse.ArgumentParser(description="Many people who scan at once.")
    parser.add_argument("--seconds", type=int, default=SECONDS)
    seconds = parser.parse_args().seconds
    with tempfile.TemporaryDirectory(prefix="garment-counter-writers-") as folder:
        url = os.environ.get("DATABASE_URL", "") or f"sqlite:///{folder}/shop.sqlite3"
        make_demo(url, Path(folder), DEMO_DAYS)
        result = measure(url, Path(folder), seconds)
    print(json.dumps(result))
    if result["failed"] or result["acknowledged"] != result["written"]:
        sys.exit(1)


if __name__ == "__main__":
    main()
