"""The files that the demo shop is made from, and the rows in them."""

from __future__ import annotations

import csv
import json
from datetime import time

from django.conf import settings

from care_rules import Json

_FOLDER = settings.BASE_DIR / "fixtures" / "demo"
_CLOCKS = ("opens", "closes", "break_from", "break_until", "cut_off", "collect_at", "return_at")


def read_csv(name: str) -> list[dict[str, str]]:
    with (_FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read_json(name: str) -> Json:
    return json.loads((_FOLDER / name).read_text(encoding="utf-8"))


def clocks(row: dict[str, str]) -> dict[str, time]:
    """The times of day in a row of the demo's facts."""
    return {name: time.fromisoformat(row[name]) for name in _CLOCKS if name in row}
