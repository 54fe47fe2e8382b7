"""What papers and boards need to know of the shop, handed down by the floor above at start-up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Prices:
    """The shop's own prices, in its currency: for a cubic metre of water and for a kWh.

    ``gas_kwh`` is the kWh of gas, None where the shop has told none.
    """

    water_m3: Decimal
    kwh: Decimal
    gas_kwh: Decimal | None = None


@dataclass(frozen=True)
class ShopFace:
    """The shop's own choices; ``country``, two letters, is that of phone numbers without a code.

    ``prices`` of water and energy are None where the shop has not told both; ``write_money`` writes
    an amount as the shop does.
    """

    name: str = ""
    tag_size: str = "roll-62"
    tag_dpi: int = 203
    fahrenheit: bool = False
    slip_paper: str = "a5"
    country: str = "GB"
    prices: Prices | None = None
    write_money: Callable[[Decimal], str] = str


_providers: list[Callable[[], ShopFace]] = [ShopFace]


def register_face(provider: Callable[[], ShopFace]) -> None:
    """Name the function that reads the shop's choices. Called when the project starts."""
    _providers[:] = [provider]


def shop_face() -> ShopFace:
    return _providers[0]()
