"""Drying places while a day is played: which are taken, and when the next one is free."""

from __future__ import annotations

import bisect
from collections.abc import Mapping, Sequence


class Rails:
    """Places by kind, with the seconds at which what is on them will be dry, soonest first.

    A kind without an entry never runs out.
    """

    def __init__(self, places: Mapping[str, int], drying: Mapping[str, Sequence[int]]) -> None:
        self._places = places
        self._dry = {kind: sorted(drying.get(kind, ())) for kind in places}

    def free_at(self, kind: str, now: int) -> int:
        """When a piece can be hung up or laid down: now, or when the next one there is dry."""
        still = [dry for dry in self._dry.get(kind, ()) if dry > now]
        short = len(still) - self._places.get(kind, len(still) + 1)
        return still[short] if short >= 0 else now

    def take(self, kind: str, until: int) -> None:
        if kind in self._dry:
            bisect.insort(self._dry[kind], until)

    def full(self, at: int) -> set[str]:
        """Kinds of which none is free then."""
        return {kind for kind in self._dry if self.free_at(kind, at) > at}
