"""The picture of the rooms in DEVELOPERS.md, drawn from what each folder says of itself.

``python -m tests.rooms`` writes it anew. The order is that of the import contracts in
pyproject.toml: a room imports only from those below it.
"""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "DEVELOPERS.md"
FIRST, LAST = "<!-- rooms -->", "<!-- end of rooms -->"
APPS = ["counter", "tickets", "care_rules"]
_NAME_WIDTH = 16


def layers(app: str) -> list[str]:
    """The folders and files at the root of an app, the highest layer first."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]
    lines = next(c["layers"] for c in contracts["contracts"] if c.get("containers") == [app])
    return [name.strip() for line in lines for name in re.split(r"[:|]", line)]


def rooms(app: str) -> list[Path]:
    """The folders of an app that are rooms, the highest first; a package of care rules has none."""
    if app == "care_rules":
        return []
    folders = [ROOT / app / name for name in layers(app)]
    return [path for path in folders if path.is_dir() and path.name not in NO_ROOMS]


NO_ROOMS = {"models", "migrations", "management", "templatetags"}
"""Folders in the place where Django looks for them."""


def job(folder: Path) -> str:
    """What a folder says of itself: the first line of its docstring."""
    said = ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8")))
    return (said or "").split("\n")[0]


def picture() -> str:
    lines = []
    for app in APPS:
        lines.append(f"{app + '/':<{_NAME_WIDTH}}{job(ROOT / app)}")
        lines += [f"  {room.name + '/':<{_NAME_WIDTH - 2}}{job(room)}" for room in rooms(app)]
    return "\n".join(lines)


def page() -> str:
    """DEVELOPERS.md with the picture in its place."""
    before, rest = PAGE.read_text(encoding="utf-8").split(FIRST)
    after = rest.split(LAST)[1]
    return f"{before}{FIRST}\n```\n{picture()}\n```\n{LAST}{after}"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
