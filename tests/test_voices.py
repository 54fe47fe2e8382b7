"""In a room its wording speaks: sentences that people read stand nowhere else.

Beside it speaks what has a cure of its own (a refusal), what is drawn (a paper), and what a form or
a table calls its fields and choices. Pages, API and scans carry: they raise, and never speak.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

SPEAKING = {"wording", "refusals", "forms", "choices", "models", "admin", "management", "apps"}
"""Roles whose work is words: Django's own files name tables, fields and apps."""

DRAWN = {"printing", "papers", "paper"}
"""Rooms and files that draw papers: a builder's headings stand where they are drawn."""

CARRYING = ("views", "api", "scans")
"""Ends of the names of files that carry, in whatever room."""

SPOKEN_ELSEWHERE = {
    "tickets/garments/washes.py": "a verdict: the caution joins those of the care decision",
}
"""Files that say something of their own, with the reason."""

GETTEXT = {"gettext", "gettext_lazy", "ngettext", "ngettext_lazy", "pgettext", "pgettext_lazy"}
CHOICES = {"TextChoices", "IntegerChoices"}


def is_refusal(call: ast.Call) -> bool:
    """Whether a call makes a refusal, or raises one that names what it is given."""
    name = ast.unparse(call.func).rsplit(".", 1)[-1]
    return name == "Refused" or name.startswith("refuse_")


def spoken(source: str) -> Iterator[tuple[int, str]]:
    """Line and text of each sentence for people; what is raised and labels of choices left out."""
    tree = ast.parse(source)
    names = {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module == "django.utils.translation"
        for alias in node.names
        if alias.name in GETTEXT
    }
    apart = {
        inside
        for node in ast.walk(tree)
        if isinstance(node, ast.Raise)
        or (isinstance(node, ast.Call) and is_refusal(node))
        or (isinstance(node, ast.ClassDef) and CHOICES & set(map(base_name, node.bases)))
        for inside in ast.walk(node)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and ast.unparse(node.func) in names and node not in apart:
            yield node.lineno, ast.unparse(node.args[0])


def base_name(base: ast.expr) -> str:
    return ast.unparse(base).rsplit(".", 1)[-1]


def may_speak(path: Path) -> bool:
    """Whether a file's role, room or name lets it speak; ``path`` from the top of the project."""
    if path.stem.endswith(CARRYING):
        return False
    roles = {*path.parts[:-1], path.stem}
    return bool(roles & (SPEAKING | DRAWN)) or "migrations" in roles


@cache
def sentences() -> dict[str, list[str]]:
    """Sentences that stand outside every voice, by file."""
    places: dict[str, list[str]] = {}
    for floor in ("tickets", "counter"):
        for path in sorted((ROOT / floor).rglob("*.py")):
            relative = path.relative_to(ROOT)
            words = [] if may_speak(relative) else list(spoken(path.read_text(encoding="utf-8")))
            if words:
                places[str(relative)] = [f"{line}: {text}" for line, text in words]
    return places


def test_a_sentence_is_seen_however_it_is_written() -> None:
    source = """
from django.utils.translation import gettext as _, ngettext
from django.utils.translation import gettext_lazy

class Seen(models.TextChoices):
    NONE = "none", gettext_lazy("None seen")

TITLE = gettext_lazy("Late now")
def words(count):
    refuse_card_number(count, _("Reason"))
    raise Refused("none", _("Nothing here."), _("Look again."))
    return ngettext("one piece", "pieces", count) + str(_("Due") % {})
"""
    assert sorted(spoken(source)) == [(8, "'Late now'"), (12, "'Due'"), (12, "'one piece'")]


@pytest.mark.parametrize(
    ("path", "may"),
    [
        ("counter/owner/lists.py", False),
        ("counter/owner/wording.py", True),
        ("tickets/loads/wording/company.py", True),
        ("counter/shop/forms/prices.py", True),
        ("tickets/boards/rack_scans.py", False),
        ("counter/papers/views.py", False),
        ("counter/intake/api.py", False),
        ("tickets/plan/sheet.py", False),
        ("tickets/tracking/services/holds.py", False),
    ],
)
def test_a_file_s_role_says_whether_it_speaks(path: str, may: bool) -> None:
    assert may_speak(Path(path)) == may


def test_in_a_room_its_wording_speaks() -> None:
    strangers = {path: words for path, words in sentences().items() if path not in SPOKEN_ELSEWHERE}
    assert strangers == {}


def test_each_file_that_is_let_speak_still_does() -> None:
    assert SPOKEN_ELSEWHERE.keys() - sentences().keys() == set()
