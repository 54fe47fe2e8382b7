"""Drying rails and flat places: how many there are, what hangs or lies there, when one is free.

Drying times are planning figures (``minutes.csv``); a hand on the cloth wins.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Sum

from tickets.choices import CLOSED_STATES, Station
from tickets.models import Machine, MachineKind, RouteStep
from tickets.models.machines import DRYING_PLACES
from tickets.shop import minutes

_LONGEST = timedelta(days=3)
"""Nothing dries longer by the planning figures; older steps need not be read."""


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


def place_for(step: str, settings: Mapping[str, Any]) -> str:
    """Where a step leaves its piece to dry: rail, flat, or empty for a step that needs no place."""
    if step != "dry" or settings.get("method") == "tumble":
        return ""
    return MachineKind.FLAT if settings.get("method") == "flat" else MachineKind.RAIL


def place_counts() -> dict[str, int]:
    """Kind -> places in use. A kind the shop told nothing of is not counted: it never runs out."""
    rows = Machine.objects.filter(kind__in=DRYING_PLACES, in_use=True).order_by()
    return dict(rows.values_list("kind").annotate(total=Sum("most_pieces")))


def places_now(now: datetime, counts: Mapping[str, int] | None = None) -> list[Places]:
    """The drying places with what is on them: two queries, one where the shop told of none.

    ``counts``: kind -> places, from whoever has read the machines already, which saves one.
    """
    counts = place_counts() if counts is None else counts
    if not counts:
        return []
    found = drying(now)
    return [
        Places(MachineKind(kind), counts[kind], tuple(sorted(found[kind])))
        for kind in DRYING_PLACES
        if kind in counts
    ]


def drying(now: datetime) -> dict[str, list[datetime]]:
    """Kind -> when each piece that hangs or lies there now will be dry: one query."""
    found: dict[str, list[datetime]] = defaultdict(list)
    for settings, done_at in _hung_up(now).values_list("settings", "done_at"):
        assert done_at is not None  # the steps are those done
        kind = place_for("dry", settings)
        until = done_at + timedelta(minutes=minutes.waits_by_settings("dry", settings))
        if kind and until > now:
            found[kind].append(until)
    return found


def _hung_up(now: datetime) -> QuerySet[RouteStep]:
    """Drying steps done lately, of pieces on which nothing was done since."""
    later = RouteStep.objects.filter(
        piece=OuterRef("piece"), order__gt=OuterRef("order"), done_at__isnull=False, minutes__gt=0
    )
    return RouteStep.objects.filter(
        ~Exists(later), step="dry", station=Station.DRY, done_at__gt=now - _LONGEST
    ).exclude(piece__state__in=CLOSED_STATES)
