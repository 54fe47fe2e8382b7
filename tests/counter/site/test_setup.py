"""`manage.py` on a bare machine: in a copy of the project, with a Python that has no packages."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from counter.site import setup

ROOT = Path(__file__).resolve().parents[3]
# The Python that the running virtual environment was made from; it knows none of our packages.
BASE_PYTHON = getattr(sys, "_base_executable", sys.executable)
NO_REGISTRY = {
    # Port 9 of this machine answers nobody, so pip fails at once and asks no one else.
    "PIP_INDEX_URL": "http://127.0.0.1:9/simple/",
    "PIP_NO_CACHE_DIR": "1",
    "PIP_RETRIES": "0",
    "PIP_CONFIG_FILE": os.devnull,
}


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The few files that run before Django, laid as in the project."""
    project = tmp_path / "project"
    (project / "counter" / "site").mkdir(parents=True)
    shutil.copytree(ROOT / ".requirements", project / ".requirements")
    for name in [
        "manage.py",
        "counter/__init__.py",
        "counter/site/setup.py",
        "counter/site/__init__.py",
    ]:
        shutil.copy(ROOT / name, project / name)
    return project


def manage(project: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("PIP_") and name not in {"VIRTUAL_ENV", "DATABASE_URL", "PYTHONPATH"}
    }
    return subprocess.run(
        [BASE_PYTHON, str(project / "manage.py"), *words],
        env={**kept, **environment},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )


def without(module: str, folder: Path) -> dict[str, str]:
    """An environment whose Python does not find a module of the standard library."""
    folder.mkdir()
    (folder / "sitecustomize.py").write_text(f"import sys\nsys.modules[{module!r}] = None\n")
    return {"PYTHONPATH": str(folder)}


def test_a_command_that_installs_nothing_says_how_to_set_up(copy: Path) -> None:
    done = manage(copy, "migrate")
    assert (done.returncode, done.stdout) == (1, "")
    assert "Django is not installed" in done.stderr
    assert "python3 manage.py demo --no-serve" in done.stderr
    assert not (copy / ".venv").exists()


def test_a_python_without_venv_names_the_package_to_install(copy: Path, tmp_path: Path) -> None:
    done = manage(copy, "demo", **without("ensurepip", tmp_path / "site"))
    assert done.returncode == 1
    assert "apt install python3-venv" in done.stderr
    assert not (copy / ".venv").exists()


@pytest.mark.slow
def test_without_a_registry_it_says_so_and_a_later_run_tries_again(copy: Path) -> None:
    for _ in range(2):
        done = manage(copy, "demo", "--no-serve", **NO_REGISTRY)
        assert done.returncode == 1
        assert "while installing runtime into" in done.stderr
        assert "run `python3 manage.py demo --no-serve` again" in done.stderr
        assert json.loads((copy / ".venv" / "installed-locks.json").read_text()) == {}


@pytest.mark.slow
def test_a_half_made_environment_is_made_afresh(copy: Path) -> None:
    left_over = copy / ".venv" / "left-over"
    left_over.mkdir(parents=True)
    (copy / ".venv" / "installed-locks.json").write_text("")
    manage(copy, "demo", **NO_REGISTRY)
    assert not left_over.exists()
    assert (copy / ".venv" / "pyvenv.cfg").exists()


def test_a_place_that_cannot_be_written_is_named(copy: Path) -> None:
    (copy / ".venv").write_text("a file stands where the folder should be")
    done = manage(copy, "demo", **NO_REGISTRY)
    assert done.returncode == 1
    assert f"Can't make {copy / '.venv'}: " in done.stderr
    assert "Move away what stands in its place" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("command", "url", "locks"),
    [
        ("demo", "", ["runtime"]),
        ("demo", "postgres://shop@localhost/shop", ["runtime", "postgres"]),
        ("demo", "sqlite:///shop.sqlite3", ["runtime"]),
        ("test", "", ["runtime", "test", "browser"]),
        ("test", "postgresql://localhost/shop", ["runtime", "test", "browser", "postgres"]),
        ("migrate", "postgres://localhost/shop", []),
        ("", "", []),
    ],
)
def test_each_command_installs_what_it_needs(command: str, url: str, locks: list[str]) -> None:
    assert setup.locks_wanted(command, url) == locks


def test_a_record_is_read_back_and_one_that_was_cut_short_is_told_from_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = tmp_path / "installed-locks.json"
    monkeypatch.setattr(setup, "RECORD", record)
    assert setup.recorded() == {}
    record.write_text("")
    assert setup.recorded() is None
    record.write_text(json.dumps({"runtime": setup.digest("runtime"), "test": "of an older lock"}))
    assert setup.recorded() == {"runtime": setup.digest("runtime"), "test": "of an older lock"}
    assert setup.installed(["runtime"])
    assert not setup.installed(["runtime", "test"])
    assert not setup.installed(["browser"])
