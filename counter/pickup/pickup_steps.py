"""How far a hand-over is: scan, pay, hand over, one of them at a time."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from counter.pickup.queries import CountedOut

DONE, NOW, LATER = "done", "now", "later"


@dataclass(frozen=True)
class PickupSteps:
    """Each step is done, now or later; at most one is now, and none where nothing can leave."""

    scan: str
    pay: str
    hand: str


def pickup_steps(counted: CountedOut, to_pay: Decimal) -> PickupSteps:
    """The steps of a pickup with so much still to pay."""
    if counted.ready or not counted.scanned:
        scan = NOW if counted.ready else LATER
        return PickupSteps(scan, LATER if to_pay else DONE, LATER)
    return PickupSteps(DONE, NOW if to_pay else DONE, LATER if to_pay else NOW)
