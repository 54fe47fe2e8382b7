"""The house keeps its shape: every room says its job, nothing unexpected lies at the front door.

Which folder may import which is held by the contracts in pyproject.toml (tests/test_project.py).
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests import rooms as rooms_page
from tests.rooms import job, rooms

ROOT = Path(__file__).resolve().parent.parent
FLOORS = ["care_rules", "tickets", "counter"]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE",
    "manage.py",
    "pyproject.toml",
    "care_rules",
    "tickets",
    "counter",
    "templates",
    "tests",
    "fixtures",
}
MADE_BY_RUNNING = {"__pycache__", "var"}


def modules_of(floor: str) -> list[Path]:
    return sorted((ROOT / floor).rglob("*.py"))


def imports_of(source: str, package: str) -> Iterator[tuple[int, str]]:
    """Line and dotted name of each import, those inside functions too.

    `package` is the dotted name of the package that relative imports start from.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                parents = package.split(".")
                base = ".".join(parents[: len(parents) - node.level + 1])
                yield node.lineno, ".".join(filter(None, [base, node.module]))
            else:
                yield node.lineno, node.module or ""
        elif (
            isinstance(node, ast.Call)
            and ast.unparse(node.func).rsplit(".", 1)[-1] in {"import_module", "__import__"}
            and node.args
            and isinstance(node.args[0], ast.Constant)
        ):
            yield node.lineno, str(node.args[0].value)


def names_imported(source: str) -> Iterator[tuple[int, str]]:
    """Line and dotted name of each thing that a source takes from another file."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)


def imports_on(floor: str) -> Iterator[tuple[str, str]]:
    """Where, and the first part of what is imported, for each import of a floor."""
    for path in modules_of(floor):
        relative = path.relative_to(ROOT)
        package = ".".join(relative.parent.parts)
        for line, name in imports_of(path.read_text(encoding="utf-8"), package):
            yield f"{relative}:{line}", name.split(".")[0]


def pins(lock: str) -> dict[str, str]:
    lines = (ROOT / ".requirements" / f"{lock}.txt").read_text().splitlines()
    matches = [re.match(r"([A-Za-z0-9._-]+)==([^ ;]+)", line) for line in lines if line.strip()]
    assert all(matches), f"{lock}.txt holds a line that is no pin"
    return {canonicalize_name(match[1]): match[2] for match in matches if match}


def test_the_care_rules_import_the_standard_library_and_themselves_only() -> None:
    allowed = {*sys.stdlib_module_names, "care_rules"}
    assert [(where, name) for where, name in imports_on("care_rules") if name not in allowed] == []


def test_the_set_up_runs_before_anything_is_installed() -> None:
    for name in [
        "manage.py",
        "counter/site/setup.py",
        "counter/site/__init__.py",
        "counter/__init__.py",
    ]:
        tree = ast.parse((ROOT / name).read_text())
        first = [node for node in tree.body if isinstance(node, (ast.Import, ast.ImportFrom))]
        packages = [
            imported.split(".")[0]
            for node in first
            for _, imported in imports_of(ast.unparse(node), "counter")
        ]
        assert [
            package for package in packages if package not in {*sys.stdlib_module_names, "counter"}
        ] == []


@pytest.mark.parametrize("floor", ["tickets", "counter"])
def test_the_shop_imports_nothing_that_only_the_tests_install(floor: str) -> None:
    runtime = {*pins("runtime"), *pins("postgres")}
    distributions = packages_distributions()
    strangers = [
        (where, name)
        for where, name in imports_on(floor)
        if name not in {*sys.stdlib_module_names, *FLOORS}
        and not {canonicalize_name(distribution) for distribution in distributions.get(name, [])}
        & runtime
    ]
    assert strangers == []


def test_imports_inside_functions_are_seen_too() -> None:
    source = "def f():\n    from ..tickets import x\n    importlib.import_module('django.db')\n"
    assert list(imports_of(source, "care_rules.deep")) == [
        (2, "care_rules.tickets"),
        (3, "django.db"),
    ]


def test_the_top_level_holds_only_what_the_developers_page_names() -> None:
    names = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert names - TOP_LEVEL - MADE_BY_RUNNING == set()


@pytest.mark.parametrize("lock", ["runtime", "test", "browser", "postgres", "oracle"])
def test_a_lock_pins_versions_and_names_no_address(lock: str) -> None:
    text = (ROOT / ".requirements" / f"{lock}.txt").read_text()
    assert re.findall(r"://|^-|\bfile:|@", text, re.MULTILINE) == []
    assert len(pins(lock)) == len(text.splitlines())


@pytest.mark.parametrize("lock", ["runtime", "test", "browser", "postgres", "oracle"])
def test_a_lock_holds_every_requirement_of_its_group(lock: str) -> None:
    groups = PYPROJECT["dependency-groups"]
    wanted = PYPROJECT["project"]["dependencies"] if lock == "runtime" else groups[lock]
    pinned = pins(lock)
    for requirement in map(Requirement, wanted):
        version = pinned[canonicalize_name(requirement.name)]
        assert version in requirement.specifier, f"{requirement} against {version}: lock again"


def test_the_locks_agree_on_every_version() -> None:
    seen: dict[str, set[str]] = {}
    for lock in ["runtime", "test", "browser", "postgres", "oracle"]:
        for name, version in pins(lock).items():
            seen.setdefault(name, set()).add(version)
    assert {name: versions for name, versions in seen.items() if len(versions) > 1} == {}


# Who may write, and who may ask the database

DJANGO_S_OWN = {"models", "migrations", "management", "admin.py"}
"""Where tables are described, and where Django's own tools and commands work on them."""

MADE_UP = {"demo"}
"""The made-up shop fills its tables as no other room may."""

MANAGERS = {"objects", "_default_manager", "_base_manager"}
SHORTCUTS = {"get_object_or_404", "get_list_or_404", "prefetch_related_objects"}
ASKING = {
    "aggregate", "alias", "annotate", "defer", "distinct", "exclude", "exists", "filter", "first",
    "in_bulk", "order_by", "prefetch_related", "refresh_from_db", "select_for_update",
    "select_related", "union", "values_list",
}  # fmt: skip
"""Calls that make or run a query. ``all()`` is none: it also reads rows that came along."""

WRITING = {
    "bulk_create", "bulk_update", "create", "create_user", "delete",
    "get_or_create", "save", "update_or_create",
}  # fmt: skip

NO_ROWS = {
    "self._pdf.save": "a PDF is written into memory",
    "plain.save": "a picture is written into memory",
    "default_storage.save": "a photo is a file of the media storage",
    "default_storage.delete": "a photo is a file of the media storage",
    "default_storage.exists": "a photo is a file of the media storage",
    "path.exists": "the name of a file",
    "HOME.exists": "the name of a folder",
    "venv.create": "a virtual environment is made",
    "register.filter": "a template filter is named",
    "user.groups.values_list": "roles are asked for at the root, below every room",
}
"""What looks like a query or a written row and is none, or has to stand where it is."""


@cache
def touches_of_rooms() -> list[tuple[Path, int, str, str]]:
    """Of each touch of the database in the two floors of rooms: file, line, kind and words."""
    paths = (path for floor in ("tickets", "counter") for path in modules_of(floor))
    return [
        (path, *touch)
        for path in paths
        for touch in touches_of_rows(path.read_text(encoding="utf-8"))
    ]


def touches_of_rows(source: str) -> Iterator[tuple[int, str, str]]:
    """Line, ``asks`` or ``writes``, and the words of each touch of the database in a source."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute) and node.attr in MANAGERS:
            yield node.lineno, "asks", ast.unparse(node)
        elif isinstance(node, ast.Name) and node.id in SHORTCUTS:
            yield node.lineno, "asks", node.id
        elif isinstance(node, ast.Name) and node.id == "atomic_write":
            yield node.lineno, "writes", node.id
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            words, name = ast.unparse(node.func), node.func.attr
            # A queryset is updated by named columns, a dict by another one.
            by_name = name == "update" and node.keywords and not node.args
            if name in WRITING or by_name:
                yield node.lineno, "writes", words
            elif name in ASKING:
                yield node.lineno, "asks", words


def has_role(path: Path, role: str) -> bool:
    """Whether a file is a room's ``role.py``, or lies in its folder of that name."""
    return path.stem == role or role in path.relative_to(ROOT).parts[:-1]


def beside_its_place(what: str, *roles: str) -> list[str]:
    """Where a room asks or writes in a file of no such role."""
    return [
        f"{path.relative_to(ROOT)}:{line} {words}"
        for path, line, kind, words in touches_of_rooms()
        if kind == what
        and words not in NO_ROWS
        and not {*path.relative_to(ROOT).parts} & (DJANGO_S_OWN | MADE_UP)
        and not any(has_role(path, role) for role in roles)
    ]


def test_in_a_room_services_alone_write() -> None:
    assert beside_its_place("writes", "services") == []


def test_in_a_room_queries_alone_ask_and_services_while_they_write() -> None:
    assert beside_its_place("asks", "queries", "services") == []


GOES_THROUGH_DOORS = {"services", "views", "api", "forms"}
"""Roles whose files may call a service; so may a room's ``…_scans.py`` and ``…_views.py``."""


def test_only_pages_api_and_scans_go_through_the_doors_of_services() -> None:
    """What is named after a noun or asks the database changes nothing, nor does what it calls."""
    places = [
        f"{path.relative_to(ROOT)}:{line} {name}"
        for path in (path for app in ("tickets", "counter") for path in modules_of(app))
        if len(path.relative_to(ROOT).parts) > 2
        and not {*path.relative_to(ROOT).parts} & (DJANGO_S_OWN | MADE_UP)
        and not any(has_role(path, role) for role in GOES_THROUGH_DOORS)
        and not path.stem.endswith(("_scans", "_views"))
        for line, name in names_imported(path.read_text(encoding="utf-8"))
        if "services" in name.split(".")
    ]
    assert places == []


def test_a_touch_of_the_database_is_seen_however_it_is_written() -> None:
    source = """
piece.steps.filter(done_at=None).update(done_at=now)
rows = Piece.objects
words.update(more)
get_object_or_404(Piece, pk=1)
piece.save()
piece.steps.all()
atomic_write()
"""
    assert sorted(touches_of_rows(source)) == [
        (2, "asks", "piece.steps.filter"),
        (2, "writes", "piece.steps.filter(done_at=None).update"),
        (3, "asks", "Piece.objects"),
        (5, "asks", "get_object_or_404"),
        (6, "writes", "piece.save"),
        (8, "writes", "atomic_write"),
    ]


def test_each_touch_that_is_let_pass_is_still_there() -> None:
    seen = {words for _path, _line, _kind, words in touches_of_rooms()}
    assert NO_ROWS.keys() - seen == set()


MOST_AT_THE_ROOT = {"tickets": 12, "counter": 8}
MOST_LINES, LONGEST_TEMPLATE_LINE = 400, 160
MOST_ANY = 150


def text_files(*patterns: str) -> list[Path]:
    folders = [*FLOORS, "templates", "tests"]
    paths = (
        path for folder in folders for name in patterns for path in (ROOT / folder).rglob(name)
    )
    return sorted(path for path in paths if "migrations" not in path.parts)


@pytest.mark.parametrize(("app", "most"), MOST_AT_THE_ROOT.items())
def test_the_root_of_an_app_holds_what_django_looks_for_and_what_everybody_uses(
    app: str, most: int
) -> None:
    names = [path.name for path in (ROOT / app).glob("*.py")]
    assert len(names) <= most, sorted(names)


@pytest.mark.parametrize("app", ["tickets", "counter"])
def test_every_room_says_its_job_in_one_line(app: str) -> None:
    jobs = {room.name: job(room) for room in rooms(app)}
    assert [name for name, said in jobs.items() if not said.endswith(".") or len(said) > 84] == []
    assert len(set(jobs.values())) == len(jobs) > 8


def test_the_developers_page_shows_the_rooms_as_they_are() -> None:
    shown = rooms_page.PAGE.read_text(encoding="utf-8")
    assert rooms_page.page() == shown, "run `python -m tests.rooms`"


@pytest.mark.parametrize("app", ["tickets", "counter"])
@pytest.mark.parametrize("mirror", ["templates", "tests"])
def test_templates_and_tests_mirror_the_rooms(mirror: str, app: str) -> None:
    folders = (path for path in (ROOT / mirror / app).iterdir() if path.is_dir())
    names = {path.name for path in folders if path.name != "__pycache__"}
    assert names - {room.name for room in rooms(app)} == set()


def test_no_python_file_and_no_template_is_long() -> None:
    counted = {
        str(path.relative_to(ROOT)): path.read_text(encoding="utf-8").count("\n")
        for path in text_files("*.py", "*.html")
    }
    assert {name: lines for name, lines in counted.items() if lines > MOST_LINES} == {}


def test_no_line_of_a_template_is_long() -> None:
    long = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in text_files("*.html")
        for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), 1)
        if len(line) > LONGEST_TEMPLATE_LINE
    ]
    assert long == []


def test_any_is_rare() -> None:
    sources = (path.read_text() for floor in FLOORS for path in modules_of(floor))
    assert sum(len(re.findall(r"\bAny\b", source)) for source in sources) <= MOST_ANY


# Ten questions of a newcomer, each to be answered from the names of folders and files alone
STRANGER = {
    "where is the reminder text, that finished work waits?": "counter/messages/wording.py",
    "what decides that two pieces share a drum?": "tickets/loads/together.py",
    "where is a price worked out?": "counter/money/prices.py",
    "which code alone may move a piece?": "tickets/tracking/services/moving.py",
    "what draws the tag that is pinned on a piece?": "tickets/printing/tags.py",
    "what works out the promised time?": "tickets/promise/engine.py",
    "where is a scanned line understood?": "tickets/scanning/lines.py",
    "where is a PIN checked?": "counter/staff/services/pins.py",
    "where do the wash limits of a fibre stand?": "care_rules/data/fibres.csv",
    "where are opening hours and closed days reckoned?": "tickets/shop/calendar.py",
}


def test_a_stranger_finds_the_answers_by_name() -> None:
    assert [path for path in STRANGER.values() if not (ROOT / path).is_file()] == []
