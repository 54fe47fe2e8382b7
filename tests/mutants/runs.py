"""Runs of the tests in a copy of the project: once to see which test runs which line, then with
each mutant."""

from __future__ import annotations

import contextlib
import importlib
import importlib.util
import json
import os
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import NoReturn

import coverage
import pytest

from tests.mutants.sites import ROOT, Mutant

APPS = ("care_rules", "tickets", "counter")
MOST_SECONDS = 36.0
"""As long as the tests of one mutant take without it, and at least ``FEWEST`` of them run."""
FEWEST = 5
LISTING = "test_as_approved"
"""Files whose tests hold a whole room at once."""
CPU_SECONDS, WALL_SECONDS = 120, 600
PRELOADED = [
    "django.contrib.admin",
    "django.test",
    "rest_framework",
    "drf_spectacular",
    "reportlab.pdfgen",
    "PIL.Image",
    "hypothesis",
    "schemathesis",
    "playwright.sync_api",
    "time_machine",
    "holidays",
    "pypdfium2",
    "zxingcpp",
    "phonenumbers",
    "xdist",
    "pytest_django",
]
"""Imported once, before the process is copied for each mutant; nothing of the product is."""


@dataclass(frozen=True)
class Runs:
    """``lines``: by file and line number the tests that run it. ``seconds``: of the processor, of
    each test: what else the machine does changes no choice."""

    lines: dict[str, dict[str, list[str]]]
    seconds: dict[str, float]
    failed: list[str]

    @classmethod
    def read(cls, file: Path) -> Runs:
        return cls(**json.loads(file.read_text(encoding="utf-8")))

    def write(self, file: Path) -> None:
        file.write_text(json.dumps(asdict(self)), encoding="utf-8")

    def tests_of(self, mutant: Mutant) -> list[str]:
        """The tests to play: the nearest and the quickest of those that run its line (for a name
        that is given at import, a line with the name), and the nearest of those that run any line
        of its file, whole listings first: of what is kept in a cache only the first who came by
        is known. Where everything is given at import, those of its room stand for its file's."""
        of_line: set[str] = set()
        for path, number in self._lines_of(mutant):
            of_line.update(self.lines.get(path, {}).get(str(number), ()))
        of_file = set().union(*self.lines.get(str(mutant.path), {}).values())
        of_file = of_file or self._of_room(mutant)
        rankings = (
            self._nearest(of_line, mutant),
            sorted(of_line, key=lambda test: self.seconds[test]),
            sorted(self._nearest(of_file, mutant), key=lambda test: LISTING not in test),
        )
        chosen: dict[str, None] = {}
        for ranked in rankings:  # a third of the time for each
            spent = 0.0
            for number, test in enumerate(test for test in ranked if test not in self.failed):
                spent += self.seconds[test]
                if spent > MOST_SECONDS / len(rankings) and number >= FEWEST:
                    break
                chosen[test] = None
        return list(chosen)

    def _of_room(self, mutant: Mutant) -> set[str]:
        """The tests of the innermost folder round the mutant's file that has any."""
        for folder in mutant.path.parents:
            tests = {test for test in self.seconds if test.startswith(f"tests/{folder}/")}
            if tests:
                return tests
        return set()

    def _nearest(self, tests: Iterable[str], mutant: Mutant) -> list[str]:
        """First by the file's name, then by its room, the quicker before the slower."""
        room = f"tests/{mutant.path.parent}/"
        return sorted(
            tests,
            key=lambda test: (
                mutant.path.stem.rstrip("s") not in test,
                not test.startswith(room),
                self.seconds[test],
            ),
        )

    def _lines_of(self, mutant: Mutant) -> Iterator[tuple[str, int]]:
        if not mutant.names:
            yield from ((str(mutant.path), number) for number in mutant.lines)
            return
        named = re.compile(rf"\b({'|'.join(map(re.escape, mutant.names))})\b")
        for path in self.lines:
            text = (ROOT / path).read_text(encoding="utf-8")
            if named.search(text):
                for number, line in enumerate(text.splitlines(), 1):
                    if named.search(line):
                        yield path, number


class Watch:
    """A plugin of pytest that notes for each test its lines, its time and whether it fails."""

    def __init__(self, seen: coverage.Coverage) -> None:
        self.seen = seen
        self.seconds: dict[str, float] = {}
        self.failed: list[str] = []

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.seen.switch_context(item.nodeid)
        begun = time.process_time()
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.process_time() - begun

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)


class Copy:
    """A copy of the project in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.root, self.scratch = folder / "project", folder / "scratch"
        self.log, self.notes = folder / "log", folder / "notes.json"
        listed = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT,
            check=True,
            capture_output=True,
            text=True,
        )
        for name in filter(None, listed.stdout.split("\0")):
            if (ROOT / name).is_file():
                (self.root / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(ROOT / name, self.root / name)
        for name in PRELOADED:
            with contextlib.suppress(ImportError):
                importlib.import_module(name)

    def watch(self, tests: Sequence[str]) -> Runs:
        """Play these tests on the project as it is."""
        code = self._play(tests, watched=True)
        if not self.notes.exists():
            sys.exit(f"The tests ended with {code}:\n{self.log.read_text(errors='replace')}")
        return Runs.read(self.notes)

    def failure(self, mutant: Mutant, tests: Sequence[str]) -> str:
        """The first of these tests that notices the mutant, or how else the run ended; empty: none
        did."""
        if not tests:
            return ""
        source = (ROOT / mutant.path).read_bytes()
        self._write(mutant.path, mutant.applied(source))
        code = self._play(tests)
        self._write(mutant.path, source)
        if code == 0:
            return ""
        named = re.findall(r"^(?:FAILED|ERROR) (tests/.+?)(?: - .*)?$", self.log.read_text(), re.M)
        return named[0] if named else f"the run ended with {code}"

    def _write(self, path: Path, source: bytes) -> None:
        (self.root / path).write_bytes(source)
        # Its age is told in whole seconds, and a mutant may be as long as what it replaces.
        Path(importlib.util.cache_from_source(self.root / path)).unlink(missing_ok=True)

    def _play(self, tests: Sequence[str], *, watched: bool = False) -> int:
        """The exit code of pytest in a process of its own; minus the signal that ended it."""
        self.scratch.mkdir()
        child = os.fork()
        if child == 0:
            self._run(tests, watched)
        give_up = time.monotonic() + WALL_SECONDS
        while (ended := os.waitpid(child, os.WNOHANG)) == (0, 0):
            if not watched and time.monotonic() > give_up:
                os.killpg(child, signal.SIGKILL)
            time.sleep(0.05)
        shutil.rmtree(self.scratch)
        return os.waitstatus_to_exitcode(ended[1])

    def _run(self, tests: Sequence[str], watched: bool) -> NoReturn:
        """In the child: pytest, which imports the product and the tests of the copy."""
        os.setsid()
        log = os.open(self.log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(log, 1)
        os.dup2(log, 2)
        os.chdir(self.root)
        os.environ["TMPDIR"] = tempfile.tempdir = str(self.scratch)
        for name in [name for name in sys.modules if name.split(".")[0] == "tests"]:
            del sys.modules[name]
        sys.path[:] = [str(self.root), *(path for path in sys.path if Path(path or ".") != ROOT)]
        switches = ["-q", "--hypothesis-seed=0", "-p", "no:cacheprovider"]
        switches += ["-m", "not slow and not browser", *tests]
        try:
            code = self._watched(switches) if watched else self._limited(switches)
        except BaseException as error:  # whatever it is, the copy of the parent must not go on
            print(repr(error), flush=True)
            code = 99
        os._exit(code)

    def _limited(self, switches: list[str]) -> int:
        resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))
        return int(pytest.main(["-x", *switches]))

    def _watched(self, switches: list[str]) -> int:
        seen = coverage.Coverage(
            data_file=None, source=[str(self.root / app) for app in APPS], config_file=False
        )
        watch = Watch(seen)
        seen.start()
        code = pytest.main(switches, plugins=[watch])
        seen.stop()
        data = seen.get_data()
        lines = {
            str(Path(file).relative_to(self.root)): {
                str(number): [test for test in tests if test]
                for number, tests in data.contexts_by_lineno(file).items()
            }
            for file in data.measured_files()
        }
        Runs(lines, dict(watch.seconds), watch.failed).write(self.notes)
        return int(code)
