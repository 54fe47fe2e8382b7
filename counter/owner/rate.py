"""A share of a whole, and the middle of a list: the two sums every figure is made of."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta


@dataclass(frozen=True)
class Rate:
    """``part`` of ``whole`` things; ``percent`` is None while there is nothing to count."""

    part: int
    whole: int

    @property
    def percent(self) -> float | None:
        return 100 * self.part / self.whole if self.whole else None


def percentile(times: Sequence[timedelta], share: float) -> timedelta | None:
    """The smallest of the times that at least this share of them does not exceed.

    This is the nearest-rank percentile, so the answer is always a time that really happened.
    """
    if not times:
        return None
    ordered = sorted(times)
    return ordered[max(math.ceil(share * len(ordered)) - 1, 0)]


def mean(times: Sequence[timedelta]) -> timedelta | None:
    return sum(times, timedelta()) / len(times) if times else None
