"""The benchmark's own arithmetic, and what it says without its solver."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks.loads import Day, main, sizes, summary

ROOT = Path(__file__).resolve().parents[3]


def day(planner: int, solver: int | None, bound: int, solved: bool, illegal: int = 0) -> Day:
    return Day(30, planner, solver, bound, planner * 2, 0.1, 5.0, solved, illegal, 0, 3, 10.0, True)


def test_gaps_are_measured_against_the_better_plan_or_the_bound() -> None:
    found = summary(
        [
            day(100, 100, 100, True),
            day(110, 100, 100, True),
            day(120, None, 100, False, illegal=1),
        ]
    )
    assert (found["days"], found["solved"], found["unproved"]) == (3, 2, 1)
    assert (found["mean_gap"], found["worst_gap"]) == (0.05, 0.1)
    assert found["unproved_worst_gap_to_bound"] == 0.2
    assert (found["speed_ratio"], found["illegal_loads"]) == (100.0, 1)


def test_days_spread_from_thirty_to_four_hundred_pieces() -> None:
    found = sizes(200)
    assert (min(found), max(found), len(found)) == (30, 400, 200)


def test_without_the_solver_it_says_what_to_install() -> None:
    code = (
        "import sys; sys.modules['ortools'] = None\n"
        "from tests.benchmarks.loads import main; sys.exit(main(['--quick']))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ".requirements/oracle.txt" in ran.stderr


def test_a_short_run_ends_in_one_json_object(capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("ortools", reason="the solver is in .requirements/oracle.txt")
    assert main(["--days", "1", "--seconds", "2", "--alone", "1"]) == 0
    found = json.loads(capsys.readouterr().out.splitlines()[-1])
    assert (found["days"], found["solved"], found["illegal_loads"]) == (1, 1, 0)
    assert found["worst_gap"] <= 0.1
    assert found["first_fit_mean_gap"] >= 0
