"""The pages of the back room stand on what tickets itself can show."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
OF_COUNTER = {path.stem for path in (ROOT / "counter" / "templatetags").glob("[a-z]*.py")}
PAGES = [
    path
    for folder in ("tickets", "shared")
    for path in sorted((ROOT / "templates" / folder).rglob("*.html"))
]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT / "templates")))
def test_no_page_of_tickets_loads_a_tag_of_counter(page: Path) -> None:
    loaded = re.findall(r"{%-?\s*load\s+(.*?)\s*%}", page.read_text(encoding="utf-8"))
    assert not OF_COUNTER & {name for names in loaded for name in names.split()}


def test_counter_has_tags_to_look_for() -> None:
    assert OF_COUNTER
    assert len(PAGES) > 20
