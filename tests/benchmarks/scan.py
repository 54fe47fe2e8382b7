"""What a scan costs beside a bare view: ``python -m tests.benchmarks.scan [--quick]``.

A demo shop is grown in bulk to 20 thousand and 200 thousand moves (``grown``), and without
``--quick`` to 2 and 20 million, each with 60 and with 1,000 open tickets. The product's own server
stands before each (``serving``). Over kept connections a bare view, a scan over the API and a scan
on a board's page are asked for in turn, and the median of each is kept; between them a board is
opened, right after a scan, and a ticket of three pieces is taken in. The bare view stands behind
the product's own middleware, does nothing and is asked without sign-in, so that the ratios hold on
any machine.

How long a transaction held the write lock is measured without the flush of its commit, which
depends on the disk and stands beside it. The last line is one JSON object: a table for each shop
("20k_60": 20 thousand moves, 60 open tickets), the worst of each ratio, and ``growth``, the
largest ratio of an API scan over the smallest.
"""

from __future__ import annotations

import argparse
import json
import shutil
import statistics
import tempfile
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.benchmarks import grown
from tests.benchmarks.floorwork import Pieces, Scannable
from tests.benchmarks.serving import make_demo, serving
from tests.benchmarks.tills import Answer, Till, fresh_key

QUICK, WHOLE = (20_000, 200_000), (20_000, 200_000, 2_000_000, 20_000_000)
OPEN_TICKETS = (60, 1_000)
DEMO_DAYS = 3

LOOKS = 300
"""Bare views of a shop; the median of so many is at rest."""

A_SCAN, A_QUICK_SCAN = 1, 2
"""After how many bare views an API scan comes, in the whole and in the quick run."""

A_PAGE, A_BOARD, A_TICKET = 5, 100, 50
"""After how many bare views a page scan, a look at a board and an intake come."""

WARM_UP = 4


@dataclass(frozen=True)
class Size:
    """How large a shop of the benchmark is, and what it is called."""

    moves: int
    open_tickets: int

    @property
    def name(self) -> str:
        many = f"{self.moves // 10**6}m" if self.moves >= 10**6 else f"{self.moves // 1000}k"
        return f"{many}_{self.open_tickets}"


class Counter:
    """Everybody who works in the shop of a run: who scans, who looks, who takes in."""

    def __init__(self, port: int, pieces: Pieces) -> None:
        from counter.demo.services import PASSWORD

        self.pieces = pieces
        self.board = pieces.busiest_station()
        self.nobody, self.scanner, self.tablet, self.front = (Till(port) for _ in range(4))
        self.scanner.take_token("imre", PASSWORD)
        self.tablet.sign_in("imre", PASSWORD)
        self.front.take_token("rosa", PASSWORD)
        self.tickets = _new_tickets()

    def look_at_nothing(self) -> Answer:
        return _expect(200, self.nobody.ask("GET", "/bare/"))

    def scan_by_api(self) -> Answer:
        piece = self._scannable()
        sent = {"code": piece.code, "station": piece.station, "client_key": fresh_key()}
        answer = _expect(200, self.scanner.post_json("/api/v1/scan/", sent))
        assert answer.json["tone"] == "good", answer
        return answer

    def scan_on_page(self) -> Answer:
        piece = self._scannable()
        path = f"/boards/{piece.station}/scan/"
        answer = _expect(200, self.tablet.post_form(path, line=piece.code, key=fresh_key()))
        assert b"<html" not in answer.body, answer
        return answer

    def open_board(self) -> Answer:
        return _expect(200, self.tablet.ask("GET", f"/boards/{self.board}/"))

    def take_in(self) -> Answer:
        sent = {**self.tickets.pop(), "client_key": fresh_key()}
        return _expect(201, self.front.post_json("/api/v1/tickets/", sent))

    def locks(self) -> dict[str, list[float]]:
        """How long each transaction since the last call held the lock, and its flush, in ms."""
        measured: dict[str, list[float]] = self.nobody.ask("GET", "/locks/").json
        return measured

    def _scannable(self) -> Scannable:
        piece = self.pieces.next()
        if not piece.station:
            sent = {"station": piece.first, "reason": "once more", "client_key": fresh_key()}
            _expect(201, self.scanner.post_json(f"/api/v1/pieces/{piece.code}/redo/", sent))
            piece = Scannable(piece.code, piece.first, piece.first)
        return piece

    def close(self) -> None:
        for till in (self.nobody, self.scanner, self.tablet, self.front):
            till.close()


def _new_tickets() -> list[dict[str, Any]]:
    """Tickets of three pieces, each of a new customer, as the API takes them."""
    from tests import building
    from tests.api_calls import inspection

    facts = (building.jumper(), building.shirt(stains=[]), building.jumper(colour="pastel"))
    return [
        {
            "new_customer": {"name": "Iris Marlow", "phone": f"01632 960{number:03d}"},
            "pieces": [{"facts": piece_facts, "inspection": inspection()} for piece_facts in facts],
        }
        for number in range(LOOKS // A_TICKET + WARM_UP)
    ]


def _expect(status: int, answer: Answer) -> Answer:
    if answer.status != status:
        raise SystemExit(f"{answer.status} came instead of {status}: {answer.body[:2000]!r}")
    return answer


def measure(path: Path, a_scan: int) -> dict[str, float]:
    """One shop: the median of each act in ms and beside a bare view, and the locks' 99th."""
    taken: dict[str, list[float]] = defaultdict(list)
    pieces = Pieces(path, most=LOOKS)
    with serving(f"sqlite:///{path}", path.parent) as port:
        counter = Counter(port, pieces)
        for _ in range(WARM_UP):
            counter.look_at_nothing()
            counter.scan_by_api()
            counter.scan_on_page()
        counter.open_board()
        counter.take_in()
        counter.locks()
        for number in range(1, LOOKS + 1):
            taken["bare"].append(counter.look_at_nothing().ms)
            if number % a_scan == 0:
                taken["api"].append(counter.scan_by_api().ms)
            if number % A_PAGE == 0:
                taken["page"].append(counter.scan_on_page().ms)
            if number % A_BOARD == 0:
                taken["board"].append(counter.open_board().ms)
            if number % A_TICKET == 0:
                taken["open_ticket"].append(counter.take_in().ms)
        locks = counter.locks()
        counter.close()
    pieces.close()
    half = {act: statistics.median(ms) for act, ms in taken.items()}
    result = {f"{act}_to_bare": half[act] / half["bare"] for act in ("api", "page", "board")}
    result |= {f"{act}_ms": ms for act, ms in half.items()}
    result["lock_p99_ms"] = _p99(locks["held_ms"])
    result["flush_p99_ms"] = _p99(locks["flushed_ms"])
    return {key: round(value, 2) for key, value in result.items()}


def _p99(values: list[float]) -> float:
    return statistics.quantiles(values, n=100, method="inclusive")[-1]


def run(sizes: tuple[int, ...], a_scan: int, folder: Path) -> dict[str, dict[str, float]]:
    """Every shop's figures by its name; each size is grown from the one before."""
    base = folder / "base.sqlite3"
    make_demo(f"sqlite:///{base}", folder, DEMO_DAYS)
    results = {}
    for moves in sizes:
        shop = folder / f"{moves}.sqlite3"
        database = grown.open_file(base)
        grown.grow_past(database, moves)
        database.close()
        if moves == sizes[-1]:
            base.rename(shop)
        else:
            shutil.copy(base, shop)
        for open_tickets in OPEN_TICKETS:
            database = grown.open_file(shop)
            grown.grow_open(database, open_tickets)
            grown.analyze(database)
            grown.close(database, shop)
            size = Size(moves, open_tickets)
            results[size.name] = measure(shop, a_scan)
            _print_row(size.name, results[size.name])
        shop.unlink()
    return results


def _print_row(name: str, result: dict[str, float]) -> None:
    print(
        f"{name:>9}  " + "  ".join(f"{key} {value:g}" for key, value in result.items()), flush=True
    )


def summary(results: dict[str, dict[str, float]]) -> dict[str, Any]:
    """Every shop's figures, the worst of each, and the growth of an API scan."""
    api = [result["api_to_bare"] for result in results.values()]
    worst = ("api_to_bare", "page_to_bare", "board_to_bare", "lock_p99_ms", "flush_p99_ms")
    return {
        "benchmark": "scan",
        **results,
        **{key: max(result[key] for result in results.values()) for key in worst},
        "growth": round(max(api) / min(api), 3),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description="What a scan costs beside a bare view.")
    parser.add_argument(
        "--quick", action="store_true", help="up to 200 thousand moves, half the scans"
    )
    sizes, a_scan = (QUICK, A_QUICK_SCAN) if parser.parse_args().quick else (WHOLE, A_SCAN)
    with tempfile.TemporaryDirectory(prefix="garment-counter-scan-") as folder:
        results = run(sizes, a_scan, Path(folder))
    print(json.dumps(summary(results)))


if __name__ == "__main__":
    main()
