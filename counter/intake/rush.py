"""What it costs to let a ticket go first, told before anybody says yes to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from care_rules import Decision, JsonMapping
from counter.intake.opening import earliest_promise
from counter.money.prices import Quote
from tickets.models import Ticket
from tickets.pieces.opening import planned_route
from tickets.promise.quote import Promise, rush_cost
from tickets.shop.queries import read_calendar
from tickets.wording import short_name

MOST_NAMED = 5


@dataclass(frozen=True)
class MadeLate:
    """A ticket that would miss what was promised; ``customer`` is the short name."""

    number: int
    customer: str
    promised_at: datetime


@dataclass(frozen=True)
class RushCost:
    """``late_count`` tickets would become late; ``named`` are those promised first.

    ``surcharge`` is None where the shop takes none; ``otherwise`` is the promise without rush.
    """

    surcharge: Decimal | None
    otherwise: Promise
    late_count: int
    named: Sequence[MadeLate]

    @property
    def more(self) -> int:
        return self.late_count - len(self.named)


def cost_of_rush(
    routes: Sequence[tuple[JsonMapping, Decision]], now: datetime, asked: Quote
) -> RushCost:
    """What these pieces, given as (facts, decision), cost the others and the customer.

    ``asked`` is the price with rush. Costs the same number of queries however many tickets wait.
    """
    planned = [planned_route(facts, decision) for facts, decision in routes]
    late = rush_cost(planned, now, read_calendar())
    rows = (
        Ticket.objects.filter(number__in=late)
        .select_related("customer")
        .order_by("promised_at", "number")[:MOST_NAMED]
    )
    named = [MadeLate(row.number, short_name(row.customer.name), row.promised_at) for row in rows]
    surcharge = next((line.amount for line in asked.extras if line.key == "rush"), None)
    return RushCost(surcharge, earliest_promise(routes, now), len(late), named)
