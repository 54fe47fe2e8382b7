"""Speed of the care engine on one core: ``python -m tests.benchmarks.care [--quick]``.

Prints decisions a second for the whole command (JSON in, JSON out, reasons included), decisions a
second from facts that are checked first, the same for limits, outcome and rule keys alone, the cost
of each stage, what a decision costs that is like none before it, and what it costs when the tables
hold many more rows that it does not touch. The last line is one JSON object.
"""

from __future__ import annotations

import argparse
import io
import json
import random
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from care_rules import Facts, decide, deciding, parse_facts, rule_on
from care_rules.cli import run
from care_rules.rows import Row
from care_rules.tables import Book, book
from care_rules.written import forget_written, written
from tests.care_rules.strategies import FIBRES, STAINS, TRIMS
from tests.care_rules.test_ordinary import CASES


def pieces(count: int) -> list[dict[str, Any]]:
    """Ordinary garments, one in three with a fibre, trim or stain more."""
    draw = random.Random(1)
    garments = []
    for number in range(count):
        garment = dict(CASES[number % len(CASES)][1], id=str(number))
        if number % 3 == 0:
            lining = {"part": "lining", "fibres": [{"fibre": draw.choice(FIBRES)}]}
            garment["components"] = [*garment["components"], lining]
            garment["trims"] = [*garment.get("trims", []), draw.choice(TRIMS)]
            garment["stains"] = [*garment["stains"], {"stain": draw.choice(STAINS)}]
        garments.append(garment)
    return garments


def seconds(work: Callable[[], object]) -> float:
    """Processor time, so that other work on the machine does not count."""
    start = time.process_time()
    work()
    return time.process_time() - start


def judged_in_keys(facts: Facts) -> tuple[object, ...]:
    """Limits, outcome and rule keys: what sorts a piece, before a word is said of it."""
    ruling = rule_on(facts)
    return (
        ruling.outcome,
        ruling.process.name,
        ruling.limits,
        ruling.because,
        ruling.caution_levels,
    )


def grown(tables: Book, times: int) -> Book:
    """The same tables with every row of fibres, trims, stains and hazards copied many times."""
    bigger = dict(tables.tables)
    rules = dict(tables.rules)
    for name in ("fibres", "trims", "stains", "hazards"):
        table = dict(bigger[name])
        for number in range(times):
            for bare, row in bigger[name].items():
                copy: Row = replace(row, bare=f"{bare}.{number}", key=f"{row.key}.{number}")
                table[copy.bare] = copy
                rules[copy.key] = copy
        bigger[name] = table
    return replace(tables, tables=bigger, rules=rules)


def untouched_rows(facts: list[Any], rounds: int) -> dict[str, float]:
    """Microseconds a decision with the tables as they are and with them grown."""
    figures = {}
    plain = book()
    for times in (0, 10, 50):
        tables = grown(plain, times)
        deciding.book = lambda tables=tables: tables  # type: ignore[attr-defined, misc]
        best = min(
            seconds(lambda: [deciding.work_out(garment) for garment in facts])
            for _ in range(rounds)
        )
        rows = sum(len(table) for table in tables.tables.values())
        figures[str(rows)] = round(best / len(facts) * 1e6, 1)
    deciding.book = lambda: plain  # type: ignore[attr-defined]
    return figures


def main() -> None:
    parser = argparse.ArgumentParser(description="Speed of the care engine on one core.")
    parser.add_argument("--quick", action="store_true", help="2,000 pieces instead of 10,000")
    count = 2_000 if parser.parse_args().quick else 10_000
    given = pieces(count)
    text = json.dumps(given)
    out = io.StringIO()
    status: list[int] = []
    whole = seconds(lambda: status.append(run(["-"], io.StringIO(text), out, sys.stderr)))
    if status != [0]:
        sys.exit("the pieces of the benchmark were refused")
    facts: list[Any] = []
    stages = {"read JSON": seconds(lambda: json.loads(text))}
    stages["check facts"] = seconds(lambda: facts.extend(map(parse_facts, given)))
    deciding.forget()
    stages["work out"] = seconds(lambda: [deciding.work_out(garment) for garment in facts])
    deciding.forget()
    stages["decide"] = seconds(lambda: [decide(garment) for garment in facts])
    deciding.forget()
    stages["judge in keys"] = seconds(lambda: [judged_in_keys(garment) for garment in facts])
    alike = 1 - len(set(facts)) / len(facts)
    some = [decide(garment) for garment in facts[:2_000]]
    share = len(facts) / len(some)
    stages["to JSON values"] = seconds(lambda: [garment.as_json() for garment in some]) * share
    forget_written()
    stages["write JSON"] = seconds(lambda: [written(garment) for garment in some]) * share
    rate = f"{count / whole:,.0f} a second"
    print(f"{count} pieces through the command in {whole:.2f} s of one core: {rate}")
    for stage, cost in stages.items():
        print(f"  {stage:15} {cost / count * 1e6:7.1f} µs a piece")
    bare = count / (stages["check facts"] + stages["decide"])
    print(f"  checked and decided alone: {bare:,.0f} a second, {alike:.0%} like one before")
    in_keys = count / (stages["check facts"] + stages["judge in keys"])
    print(f"  limits, outcome and rule keys alone: {in_keys:,.0f} a second")
    unlike = list(dict.fromkeys(facts))
    deciding.forget()
    forget_written()
    cost = seconds(lambda: [written(decide(garment)) for garment in unlike]) / len(unlike)
    unlike_rate = 1 / (cost + (stages["read JSON"] + stages["check facts"]) / count)
    print(f"  with all words, each like none before it: {unlike_rate:,.0f} a second")
    growth = untouched_rows(facts[:1_000], 5)
    for rows, cost in growth.items():
        print(f"  decide with {rows:>6} table rows: {cost:7.1f} µs")
    result = {
        "benchmark": "care",
        "pieces": count,
        "decisions_per_second": round(count / whole),
        "unlike_decisions_per_second": round(unlike_rate),
        "checked_and_decided_per_second": round(bare),
        "judged_in_keys_per_second": round(in_keys),
        "share_like_one_before": round(alike, 3),
        "microseconds": {stage: round(cost / count * 1e6, 1) for stage, cost in stages.items()},
        "decide_microseconds_by_table_rows": growth,
    }
    print(json.dumps(result))


if __name__ == "__main__":
    main()
