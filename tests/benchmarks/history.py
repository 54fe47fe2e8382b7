"""What lists and figures cost as history grows: ``python -m tests.benchmarks.history [--quick]``.

A demo shop is grown in bulk to 20 thousand moves and a hundredfold, with ``--quick`` tenfold. At
both sizes each list of the API, the searches of the desk, the outbox, the list of what is owed, the
owner's day and the owner's ninety days are asked for in turn, and the median in milliseconds of
processor time is kept. ``growth`` is the larger shop's median over the smaller one's. The ninety
days are also held against their own SQL, run bare on the database: 1.5 times that is the bar for a
shop whose quarter is large enough to weigh more than the page round it. They are asked for as at a
first look, with no count of a day kept (``quarter_to_sql``), and again as at the next one
(``owner's quarter again``). The last line is one JSON object.
"""

from __future__ import annotations

import argparse
import json
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.benchmarks import grown
from tests.benchmarks.serving import make_demo

if TYPE_CHECKING:
    from django.test import Client

SMALL = 20_000
DEMO_DAYS, OPEN_TICKETS = 12, 60
ROUNDS = 9
BAR = 1.5


def milliseconds(work: Callable[[], object]) -> float:
    """Processor time, so that other work on the machine does not count."""
    start = time.process_time()
    work()
    return (time.process_time() - start) * 1000


def addresses(client: Client) -> dict[str, str]:
    """What is asked for, by its name: a place deep in a list is taken from what lies there."""
    from django.urls import reverse
    from django.utils import timezone

    from counter.intake.queries import listed_tickets
    from counter.site.api_pages import place_of
    from tickets.models import Ticket
    from tickets.pieces.queries import listed_pieces

    pieces, tickets = listed_pieces(), listed_tickets()
    middle = Ticket.objects.order_by("pk")[Ticket.objects.count() // 2]
    piece = pieces.filter(ticket=middle)[0]
    lately = timezone.now() - timedelta(hours=4)
    since = lately.isoformat().replace("+", "%2B")
    return {
        "pieces": "/api/v1/pieces/",
        "pieces open": "/api/v1/pieces/?open=true",
        "pieces held": "/api/v1/pieces/?state=held",
        "pieces deep": f"/api/v1/pieces/?after={place_of(piece, pieces)}",
        "pieces changed": f"/api/v1/pieces/?after=&updated_since={since}",
        "tickets": "/api/v1/tickets/",
        "tickets open": "/api/v1/tickets/?state=open",
        "tickets deep": f"/api/v1/tickets/?after={place_of(middle, tickets)}",
        "tickets changed": f"/api/v1/tickets/?after=&updated_since={since}",
        "customers": "/api/v1/customers/",
        "customer by phone": f"{reverse('desk')}?q=960123",
        "customer by name": f"{reverse('desk')}?q=beatrix",
        "messages": "/messages/",
        "unpaid": "/owner/figures/unpaid/",
        "owner's day": "/owner/",
        "owner's quarter": "/owner/quarter/",
        "owner's quarter again": "/owner/quarter/",
    }


def quarter_sql(path: Path) -> list[tuple[str, tuple[Any, ...]]]:
    """The statements that the ninety days are made of, as they are sent."""
    from django.db import connection
    from django.utils import timezone

    from counter.owner.quarter import quarter_figures
    from counter.owner.queries import forget_counts
    from tickets.shop.calendar import business_day

    sent: list[tuple[str, tuple[Any, ...]]] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        sent.append((sql.replace("%s", "?"), tuple(params or ())))
        return execute(sql, params, many, context)

    forget_counts()
    with connection.execute_wrapper(note):
        quarter_figures(business_day(), timezone.now())
    return sent


def measure(path: Path) -> dict[str, Any]:
    """Median milliseconds of each list and figure in the shop of this file."""
    from django.contrib.auth.models import User
    from django.db import connection
    from django.test import Client

    from counter.owner.queries import forget_counts

    client = Client(SERVER_NAME="localhost")
    client.force_login(User.objects.filter(groups__name="owner").earliest("pk"))
    asked = addresses(client)
    taken: dict[str, list[float]] = {name: [] for name in (*asked, "quarter's SQL")}
    statements = quarter_sql(path)
    bare = sqlite3.connect(path)

    def run_bare() -> None:
        for sql, params in statements:
            bare.execute(sql, [str(value) for value in params]).fetchall()

    for _round in range(ROUNDS):
        for name, address in asked.items():
            answers: list[Any] = []
            if name == "owner's quarter":
                forget_counts()
            taken[name].append(milliseconds(lambda: answers.append(client.get(address))))  # noqa: B023
            if answers[0].status_code != 200:
                raise SystemExit(f"{answers[0].status_code} came for {name}, {address}")
        taken["quarter's SQL"].append(milliseconds(run_bare))
    bare.close()
    connection.close()
    return {name: round(statistics.median(times), 2) for name, times in taken.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description="What lists and figures cost as history grows.")
    parser.add_argument("--quick", action="store_true", help="tenfold instead of a hundredfold")
    times = 10 if parser.parse_args().quick else 100
    shops: list[dict[str, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop.sqlite3"
        make_demo(f"sqlite:///{path}", path.parent, DEMO_DAYS)
        for moves in (SMALL, SMALL * times):
            database = grown.open_file(path)
            grown.grow_past(database, moves)
            if not shops:
                grown.grow_open(database, OPEN_TICKETS)
            grown.analyze(database)
            database.close()
            shops.append(measure(path))
    small, large = shops
    growth = {name: round(large[name] / small[name], 2) for name in small}
    for name in small:
        print(f"{name:22} {small[name]:9.2f} ms {large[name]:9.2f} ms {growth[name]:7.2f} times")
    quarter = round(large["owner's quarter"] / large["quarter's SQL"], 2)
    result = {
        "benchmark": "history",
        "moves": [SMALL, SMALL * times],
        "ms": large,
        "growth": growth,
        "quarter_to_sql": quarter,
        "bar": BAR,
    }
    print(json.dumps(result))


if __name__ == "__main__":
    main()
