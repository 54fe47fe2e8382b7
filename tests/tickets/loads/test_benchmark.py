"""The benchmark's own arithmetic, what it does with the plans it keeps, and what it says without
its solver."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks import load_days
from tests.benchmarks.loads import Figures, main, replanned, speed_ratio, summary
from tickets.loads.planner import plan_loads
from tickets.loads.runs import score

ROOT = Path(__file__).resolve().parents[3]


def day(planner: int, best: int, bound: int, **more: int) -> Figures:
    others = {"runs_too_many": 0, "late": 0, "illegal": 0, "kept_apart_in_vain": 0, **more}
    return Figures(30, False, planner, best, bound, planner * 2, **others, seconds=0.1)


def test_every_day_counts_in_the_gaps() -> None:
    figures = summary(
        [
            day(100, 100, 100),
            day(110, 100, 80, runs_too_many=1),
            day(160, 100, 100, runs_too_many=2, illegal=1, kept_apart_in_vain=3, late=5),
        ]
    )
    assert (figures["median_gap"], figures["mean_gap"], figures["worst_gap"]) == (
        0.1,
        round(0.7 / 3, 5),
        0.6,
    )
    assert figures["worst_gap_to_bound"] == 0.6
    assert (figures["a_run_too_many"], figures["more_runs_too_many"]) == (1, 1)
    assert (figures["illegal_loads"], figures["kept_apart_in_vain"]) == (1, 3)
    assert figures["late_days"] == 1


def test_a_solver_that_never_got_there_counts_with_its_limit() -> None:
    got_there = {"planner": 0.5, "solver_to_planner": 5.0, "planner_to_solver": 0.1}
    never = {"planner": 0.5, "solver_to_planner": None, "planner_to_solver": 0.1}
    assert speed_ratio([got_there], 24.0) == 10.0
    assert speed_ratio([never], 24.0) == 48.0


def test_days_spread_from_thirty_to_four_hundred_pieces_and_a_third_is_tight() -> None:
    assert sorted(load_days.sizes(38)) == list(range(30, 401, 10))
    days = [load_days.make_day(1, 30, tight) for tight in (False, True)]
    assert [piece.code for piece in days[0].pieces] == [piece.code for piece in days[1].pieces]
    assert {piece.due for piece in days[1].pieces} == {
        max(60, round(piece.due / 2)) for piece in days[0].pieces
    }


def test_a_plan_kept_is_the_same_plan_when_it_is_read_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    day_of_thirty = load_days.make_day(3, 30, True)
    plan = plan_loads(day_of_thirty.pieces, day_of_thirty.machines, 50)
    row = {"facts": "other", "bound": 10**9, "found_by": "solver", "loads": []}
    row["loads"] = load_days.loads_of(plan)
    monkeypatch.setattr(load_days, "FILE", tmp_path / "kept.json")
    load_days.FILE.write_text(json.dumps({"days": {day_of_thirty.key: row}}))
    best = load_days.read_best([day_of_thirty])[day_of_thirty.key]
    assert best.score == score(plan)
    # A bound found for other facts says nothing of these.
    assert best.bound == day_of_thirty.floor <= best.score

    row["loads"] = [load[:-1] for load in load_days.loads_of(plan)]
    load_days.FILE.write_text(json.dumps({"days": {day_of_thirty.key: row}}))
    assert load_days.read_best([day_of_thirty]) == {}, "a plan that leaves pieces behind is none"


def test_the_plans_kept_are_those_of_this_version() -> None:
    kept = json.loads(load_days.FILE.read_text(encoding="utf-8"))
    assert (kept["seed"], len(kept["days"])) == (load_days.seed_of_version(), load_days.DAYS)


def test_a_day_that_is_planned_in_waves_loses_no_piece() -> None:
    """With room and time for all, whatever comes in waves takes at least the runs of one plan."""
    calm = load_days.make_day(5, 30, False)
    whole = plan_loads(calm.pieces, calm.machines)
    assert replanned(calm, 50) >= score(whole) - whole.steps_below


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


@pytest.mark.slow
def test_a_short_run_ends_in_one_json_object(capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("ortools", reason="the solver is in .requirements/oracle.txt")
    assert main(["--quick", "--days", "1", "--alone", "1"]) == 0
    figures = json.loads(capsys.readouterr().out.splitlines()[-1])
    assert (figures["days"], figures["illegal_loads"], figures["kept_apart_in_vain"]) == (1, 0, 0)
    assert figures["first_fit_mean_gap"] >= 0
