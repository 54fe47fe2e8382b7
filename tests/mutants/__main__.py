"""Puts small faults into the product, one at a time, to see whether the tests notice.

    python -m tests.mutants --seed 1 --count 150 [--paths tickets/loads counter/pins.py]
        [--tests tests/tickets] [--runs FILE]

First the tests run once, without browser and slow ones, to see which test runs which line (kept
in the file of ``--runs``, for another go at the same source). Then each mutant is made in a copy
of the project: one other comparison, boundary, constant or result, a dropped `not`, a removed
statement. The tests that run its line are played, nearest and quickest first, until one fails.
Survivors are printed with their diff; the last line is `killed K of N`. The same seed makes the
same mutants of the same source. Some change nothing that anybody can observe: a reader judges.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from pathlib import Path

from tests.mutants.runs import Copy, Runs
from tests.mutants.sites import mutants_of


def main() -> None:
    raw = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=raw)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, default=150)
    parser.add_argument("--paths", nargs="+", default=["care_rules", "tickets", "counter"])
    parser.add_argument("--tests", nargs="+", default=["tests"])
    parser.add_argument("--runs", type=Path, help="file that keeps which test runs which line")
    asked = parser.parse_args()
    every = list(mutants_of(asked.paths))
    chosen = random.Random(asked.seed).sample(every, min(asked.count, len(every)))
    alive = 0
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = Copy(Path(folder))
        runs = Runs.read(asked.runs) if asked.runs and asked.runs.exists() else None
        if runs is None:
            runs = copy.watch(asked.tests)
            if asked.runs:
                runs.write(asked.runs)
        for test in runs.failed:
            print(f"Left out, it fails without any mutant: {test}")
        for number, mutant in enumerate(chosen, 1):
            tests = runs.tests_of(mutant)
            failure = copy.failure(mutant, tests)
            print(f"{number} {mutant.path}: {failure or f'ALIVE after {len(tests)} tests'}")
            if not failure:
                alive += 1
                print(mutant.diff(), end="\n\n")
            sys.stdout.flush()
    print(f"killed {len(chosen) - alive} of {len(chosen)}")


if __name__ == "__main__":
    main()
