"""What a piece weighs, dry: the scale first, then the shop's own figure, then the trade's."""

from __future__ import annotations

from care_rules import catalogue

HEAVIEST_G = 60_000
"""No piece of a counter weighs more; a figure above it is a slip of the finger."""


def trade_grams() -> dict[str, int]:
    """Kind -> grams by the care tables."""
    return {entry.key: entry.grams for entry in catalogue.kinds()}
