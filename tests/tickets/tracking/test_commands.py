"""Commands of the back room, run as the shell runs them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command

from tests.building import jumper, make_ticket, trousers
from tickets.models import PaperPrint
from tickets.printing import TAG_SIZES

ROOT = Path(__file__).resolve().parents[3]


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    with pytest.raises(SystemExit) as end:
        call_command("tags", *words)
    assert end.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    return err.strip()


@pytest.mark.django_db
def test_tags_writes_a_pdf_and_logs_the_print(
    crew: User, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    target = tmp_path / "tags.pdf"
    for said in ("first print", "reprint, copy 2"):
        call_command("tags", str(ticket.number), "--size", "roll-29", "-o", str(target))
        assert capsys.readouterr().out == f"{target}: 2 tags ({said})\n"
    assert target.read_bytes().startswith(b"%PDF-")
    prints = [(row.size, row.copy, row.by) for row in PaperPrint.objects.order_by("copy")]
    assert prints == [("roll-29", 1, None), ("roll-29", 2, None)]


def test_sizes_lists_every_name(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("tags", "--sizes")
    lines = capsys.readouterr().out.splitlines()
    assert [line.split("\t")[0] for line in lines] == list(TAG_SIZES)


@pytest.mark.django_db
def test_tags_names_value_place_and_cure(
    crew: User, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ticket = make_ticket(crew, [jumper()])
    number, out = str(ticket.number), ("-o", str(tmp_path / "x.pdf"))
    assert refused(capsys, "9000000", *out).startswith("There is no ticket 9000000.")
    assert "12 has 2 digits" in refused(capsys, "12", *out)
    assert refused(capsys, ticket.pieces.get().spoken, *out).endswith(f"for a ticket: {number}.")
    assert "“wall” is not known. Choose one of:" in refused(capsys, number, "--size", "wall", *out)
    off_sheet = refused(capsys, number, "--size", "sheet-a4", "--start-at", "22", *out)
    assert "choose a place from 1 to 21" in off_sheet
    assert "Say where the PDF goes" in refused(capsys, number)
    assert "there is no folder" in refused(capsys, number, "-o", str(tmp_path / "no" / "x.pdf"))
    assert "Give its seven digits" in refused(capsys, *out)
    assert PaperPrint.objects.count() == 0
    assert list(tmp_path.iterdir()) == []


def decide(*words: str, given: str = "", cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "decide", *words],
        input=given,
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=cwd,
        env={**os.environ, "LC_ALL": "C", "DATABASE_URL": "sqlite:////nowhere/none.sqlite3"},
        check=False,
    )


def test_decide_prints_a_decision_and_touches_no_database(tmp_path: Path) -> None:
    file = tmp_path / "facts.json"
    file.write_text(json.dumps({"id": "Zoë", **jumper()}), encoding="utf-8")
    run = decide(str(file))
    assert (run.returncode, run.stderr) == (0, "")
    decision = json.loads(run.stdout)
    assert (decision["id"], decision["limits"]["wash"]["max_c"]) == ("Zoë", 30)


def test_decide_reads_standard_input_and_answers_a_list_with_a_list() -> None:
    run = decide("-", given=json.dumps([jumper(), trousers()]))
    assert (run.returncode, run.stderr) == (0, "")
    assert len(json.loads(run.stdout)) == 2


@pytest.mark.parametrize(
    ("words", "given"),
    [
        pytest.param(("-",), '[{}, {"kind": 7}]', marks=pytest.mark.slow),
        pytest.param(("-",), "{", marks=pytest.mark.slow),
        (("no-such-file",), ""),
        ((), ""),
    ],
)
def test_decide_refuses_with_2_and_a_clean_standard_output(
    words: tuple[str, ...], given: str
) -> None:
    run = decide(*words, given=given)
    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr.strip()
    assert "Traceback" not in run.stderr
