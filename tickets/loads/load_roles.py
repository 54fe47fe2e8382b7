"""What makes a piece shed fluff, be heavy or fine in a load: the rows of ``roles.csv``."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

_TABLE = Path(__file__).parent / "roles.csv"


@cache
def roles() -> tuple[tuple[str, str, str], ...]:
    """What a trim, kind, fibre, family, construction or hazard makes of a piece in a load."""
    with _TABLE.open(encoding="utf-8", newline="") as file:
        return tuple((row["on"], row["key"], row["role"]) for row in csv.DictReader(file))
