"""What a ticket costs: one line for each service of each piece, then rush and minimum charge.

Cleaning includes pressing, so a piece that is cleaned pays no press line. A service or operation
without a price on the list is never free: it is missing until the owner lists it or the counter
types a price for this piece.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from care_rules import JsonMapping, catalogue
from counter.models import PriceItem, Shop
from counter.money.amounts import rounded
from counter.money.queries import PriceList
from counter.money.wording import SERVICE_LINES, minimum_line, rush_line, service_text

Service = PriceItem.Service


@dataclass(frozen=True)
class PriceLine:
    """One line of a quote.

    ``position`` counts pieces from 1, None is the whole ticket. ``key`` names the line within its
    piece (``clean``, ``work/trouser_hem_plain``). ``amount`` None means that no price is known.
    """

    position: int | None
    key: str
    text: str
    amount: Decimal | None
    typed: bool = False


@dataclass(frozen=True)
class Quote:
    lines: list[PriceLine] = field(default_factory=list)

    @property
    def total(self) -> Decimal:
        """Sum of the known amounts."""
        return sum((line.amount for line in self.lines if line.amount is not None), Decimal(0))

    @property
    def missing(self) -> list[PriceLine]:
        return [line for line in self.lines if line.amount is None]

    def of_piece(self, position: int) -> list[PriceLine]:
        return [line for line in self.lines if line.position == position]

    @property
    def extras(self) -> list[PriceLine]:
        return [line for line in self.lines if line.position is None]


def quote(
    pieces: Sequence[JsonMapping],
    *,
    shop: Shop,
    rush: bool = False,
    typed: Sequence[Mapping[str, Decimal]] = (),
    prices: PriceList | None = None,
) -> Quote:
    """Price pieces given as care facts. ``typed`` holds, for each piece, amounts by line key.

    A typed amount counts only where the list has none.
    """
    known = prices or PriceList.load()
    lines: list[PriceLine] = []
    for position, facts in enumerate(pieces, 1):
        by_hand = typed[position - 1] if position <= len(typed) else {}
        for key, text, listed in _priced(facts, known):
            amount = by_hand.get(key) if listed is None else listed
            by_counter = listed is None and amount is not None
            lines.append(PriceLine(position, key, text, amount, by_counter))
    lines += _extras(Quote(lines).total, shop, rush) if lines else []
    return Quote(lines)


def _priced(facts: JsonMapping, known: PriceList) -> list[tuple[str, str, Decimal | None]]:
    services = list(facts.get("services", ()))
    kind = str(facts.get("kind", "other"))
    work = list(facts.get("work", ()))
    rows: list[tuple[str, str, Decimal | None]] = []
    for service in ("clean", "press"):
        if service in services and not (service == "press" and "clean" in services):
            text = service_text(service, services)
            rows.append((service, text, known.of_service(service, kind)))
    rows += [(f"work/{key}", work_name(key), known.by_work.get(key)) for key in dict.fromkeys(work)]
    if not work:
        rows += [
            (service, str(SERVICE_LINES[service]), known.of_service(service, kind))
            for service in ("mend", "alter")
            if service in services
        ]
    return rows


def _extras(total: Decimal, shop: Shop, rush: bool) -> list[PriceLine]:
    lines = []
    if rush and shop.rush_percent:
        surcharge = rounded(total * shop.rush_percent / 100, shop)
        text = rush_line(shop.rush_percent)
        lines.append(PriceLine(None, "rush", text, surcharge))
        total += surcharge
    if total < shop.minimum_charge:
        lines.append(PriceLine(None, "minimum", minimum_line(), shop.minimum_charge - total))
    return lines


def work_name(key: str) -> str:
    """The trade name of an alteration or mending operation."""
    return next((entry.name for entry in catalogue.work() if entry.key == key), key)
