"""The same garment at visit after visit: which of a customer's garments may come again."""

from __future__ import annotations

from dataclasses import dataclass

from tickets.garments.washes import WashCount, is_counted
from tickets.models import Piece

OFFERED = 12
"""How many earlier garments of a customer are offered."""


@dataclass(frozen=True)
class Garment:
    """The latest piece of a garment, and its washes with that visit's."""

    piece: Piece
    count: WashCount

    @property
    def counted(self) -> bool:
        return is_counted(self.piece.care_decision)
