"""What the counter keeps: shop choices, prices, money, drafts, pickups, messages, staff."""

from counter.models.drafts import IntakeDraft
from counter.models.money import Payment, PriceItem, TicketLine
from counter.models.pickups import Notice, Pickup, PickupPiece
from counter.models.rules import HouseRule, RecordedOverride
from counter.models.shop import Shop, StaffProfile

__all__ = [
    "HouseRule",
    "IntakeDraft",
    "Notice",
    "Payment",
    "Pickup",
    "PickupPiece",
    "PriceItem",
    "RecordedOverride",
    "Shop",
    "StaffProfile",
    "TicketLine",
]
