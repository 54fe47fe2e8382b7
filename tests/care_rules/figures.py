"""Every figure of the rule tables as one line of text, held beside the tables.

    python -m tests.care_rules.figures          writes the list anew

The tests compare the engine with a second reading of the same tables: a figure that is wrong there
is wrong in both. This list is the second hand: whoever changes a limit, a level or an agent
changes this list in the same commit, under a new version of the tables.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

DATA = Path(__file__).parents[2] / "care_rules" / "data"
LIST = Path(__file__).with_name("approved") / "figures.txt"

#: The columns that decide something; the others are read by people.
DECIDING = (
    "level", "scope", "only", "ask", "agents", "never", "needs_bleach", "never_on", "hazards",
    "bars", "when", "unless", "under", "at_least", "heat_sets", "professional", "wet_check", "test",
    "remove", "lifts", "felts", "delicate", "label_settles", "of", "what", "value", "instead",
    "turn", "load_group", "first", "second", "without", "symbols", "as_fibre", "cuts", "heat",
    "forbids", "modifier", "edition", "market", "detergent", "ph_low", "ph_high", "enzymes_harm",
    "named", "cloth", "pad", "steam", "vacuum", "damp", "least", "most", "left_normal",
    "left_reduced", "left_none", "dry_at", "letter", "kb", "gentle_out_c", "never_in",
    "answered_by", "way", "then", "removed_by", "restored_by", "washes",
)  # fmt: skip


def figures(folder: Path = DATA) -> list[str]:
    """``table/row/limit=value@strength`` and ``table/row/column=value``, in the tables' order."""
    return list(_lines(folder))


def _lines(folder: Path) -> Iterator[str]:
    for path in sorted(folder.glob("*.csv")):
        with path.open(newline="", encoding="utf-8") as file:
            for row in csv.DictReader(file):
                for limit in filter(None, map(str.strip, row.get("limits", "").split(";"))):
                    yield f"{path.stem}/{row['key']}/{limit}"
                for column in DECIDING:
                    if row.get(column):
                        yield f"{path.stem}/{row['key']}/{column}={row[column]}"


def version(folder: Path = DATA) -> str:
    return (folder / "version.txt").read_text(encoding="utf-8").strip()


if __name__ == "__main__":
    LIST.write_text("\n".join([version(), *figures(), ""]), encoding="utf-8")
