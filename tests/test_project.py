"""The checks a developer would run by hand before a release, run by the test command."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import cssbeautifier
import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parent.parent


def run(*words: str, **environment: str) -> tuple[int, str]:
    """Exit code and all output of a Python command run at the project's root."""
    # The browser tests of this process set the switch for themselves; no deployment has it.
    own = {name: value for name, value in os.environ.items() if name != "DJANGO_ALLOW_ASYNC_UNSAFE"}
    done = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env={**own, "DJANGO_SETTINGS_MODULE": "counter.settings", **environment},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout


def test_the_linter_finds_nothing() -> None:
    code, output = run("-m", "ruff", "check", "--no-cache", ".")
    assert code == 0, output


def test_every_file_is_formatted() -> None:
    code, output = run("-m", "ruff", "format", "--no-cache", "--check", ".")
    assert code == 0, output


def test_every_template_is_formatted() -> None:
    code, output = run("-m", "djlint", "--check", "--quiet", "templates")
    assert code == 0, output


@pytest.mark.parametrize("path", sorted(ROOT.glob("*/static/*/*.css")), ids=lambda path: path.name)
def test_every_style_sheet_is_formatted(path: Path) -> None:
    options = cssbeautifier.default_options()
    options.indent_size = 2
    options.end_with_newline = True
    options.space_around_combinator = True
    style_sheet = path.read_text(encoding="utf-8")
    assert style_sheet == cssbeautifier.beautify(style_sheet, options)


@pytest.mark.slow
def test_the_type_checker_finds_nothing(tmp_path: Path) -> None:
    code, output = run("-m", "mypy", "--cache-dir", str(tmp_path))
    assert code == 0, output


def test_imports_keep_the_contracts_of_the_house() -> None:
    lint_imports = "from importlinter.cli import lint_imports_command as run; run()"
    code, output = run("-c", lint_imports, "--no-cache", "--no-logo")
    assert code == 0, output


@pytest.mark.django_db
def test_no_migration_is_missing() -> None:
    call_command("makemigrations", check=True, dry_run=True)  # which exits where one is


def test_the_production_settings_pass_the_deployment_check(tmp_path: Path) -> None:
    code, output = run(
        "manage.py",
        "check",
        "--deploy",
        "--fail-level",
        "WARNING",
        GARMENT_COUNTER_DATA_DIR=str(tmp_path),
        GARMENT_COUNTER_SECRET_KEY="",  # so that the shop makes its own
        GARMENT_COUNTER_HOSTS="shop.example.org",
        GARMENT_COUNTER_HTTPS="yes",
        GARMENT_COUNTER_DEBUG="no",
    )
    assert code == 0, output


def test_the_deployment_check_can_fail(tmp_path: Path) -> None:
    """Shows that the check above looks at the environment it is given."""
    code, output = run(
        "manage.py",
        "check",
        "--deploy",
        "--fail-level",
        "WARNING",
        GARMENT_COUNTER_DATA_DIR=str(tmp_path),
        GARMENT_COUNTER_HTTPS="no",
    )
    assert code == 1, output
    assert "security.W012" in output
