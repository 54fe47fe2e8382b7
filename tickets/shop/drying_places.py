"""Drying rails and flat places: how many there are, what hangs or lies there, when one is free.

Drying times are planning figures (``minutes.csv``); a hand on the cloth wins.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from care_rules import Settings
from tickets.models import MachineKind


@dataclass(frozen=True)
class Places:
    """The rails, or the flat places, of the shop. ``dry_at``: when each piece there will be dry."""

    kind: MachineKind
    places: int
    dry_at: tuple[datetime, ...] = ()

    @property
    def taken(self) -> int:
        return len(self.dry_at)

    @property
    def left(self) -> int:
        return max(0, self.places - self.taken)

    def free_times(self, now: datetime) -> list[datetime]:
        """When each place is free: now, or when the piece there is dry."""
        over = max(0, self.taken - self.places)
        return [*[now] * self.left, *self.dry_at[over:]]

    @property
    def free_at(self) -> datetime | None:
        """When the next place is free; None while one is."""
        return self.dry_at[self.taken - self.places] if self.taken >= self.places else None


def place_for(step: str, settings: Settings) -> str:
    """Where a step leaves its piece to dry: rail, flat, or empty for a step that needs no place."""
    if step != "dry" or settings.get("method") == "tumble":
        return ""
    return MachineKind.FLAT if settings.get("method") == "flat" else MachineKind.RAIL
