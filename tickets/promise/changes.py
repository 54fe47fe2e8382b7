"""What was written last: whether open work still is as it was read, and else which pieces to read
again.

Every change of a piece writes a move, every change of a load an event, every change of a setting
counts up its kind. A number taken early may be written late where several write at once, so a
whole window of the newest is compared, and not the highest number alone.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

WINDOW = 100
"""So many numbers below the highest are looked at. Only a change that is written so much later than
it took its number is overlooked."""

Rows = tuple[tuple[int, int], ...]
"""(number of the row, key of its piece or load), the newest first."""


@dataclass(frozen=True)
class Newest:
    """``moves`` name their pieces, ``events`` their loads; ``settings``: how often each kind was
    changed."""

    moves: Rows
    events: Rows
    settings: tuple[tuple[str, int], ...]

    @property
    def mark(self) -> str:
        """A short word that is another one after any change."""
        return hashlib.sha256(repr(self).encode()).hexdigest()[:16]


def keys_since(newest: Rows, earlier: Rows) -> set[int] | None:
    """Keys that the rows written since ``earlier`` name; None where that can't be told: more was
    written than the window shows, or what was there is gone, or there was nothing."""
    if newest == earlier:
        return set()
    if not newest or not earlier or newest[0][0] - earlier[0][0] >= WINDOW:
        return None
    shown = newest[0][0] - WINDOW
    if {row for row in earlier if row[0] > shown} - set(newest):
        return None
    return {key for _number, key in set(newest) - set(earlier)}
