"""The price list is written, and the shop's own name, papers and abilities."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from counter.models import PriceItem, Shop
from tickets.writing import atomic_write

PriceKey = tuple[str, str, str]
"""Service, kind and operation of a price; kind and operation may be empty."""


def save_prices(wanted: Mapping[PriceKey, Decimal | None]) -> int:
    """Write a price list: an amount sets a price, None takes it off. Returns how many changed.

    Tickets keep the prices they were opened with. An operation has one price, whether it is
    listed under mend or alter.
    """
    changed = 0
    with atomic_write():
        known = {(row.service, row.kind, row.work): row for row in PriceItem.objects.all()}
        for key, amount in wanted.items():
            row = known.get(key)
            if amount is None and row is not None:
                row.delete()
            elif amount is not None and row is None:
                PriceItem.objects.create(service=key[0], kind=key[1], work=key[2], amount=amount)
            elif amount is not None and row is not None and row.amount != amount:
                row.amount = amount
                row.save(update_fields=["amount"])
            else:
                continue
            changed += 1
    return changed


def save_shop(shop: Shop) -> Shop:
    """Write the shop's own choices, which its form has checked."""
    with atomic_write():
        shop.save()
    return shop
