"""What it costs to let a ticket go first, told before anybody says yes to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from counter.intake import queries
from counter.money.prices import Quote
from tickets.promise.quote import Promise, earliest_ready, queued_minutes, rush_cost
from tickets.promise.tasks import Task
from tickets.shop.calendar import ShopCalendar
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
    routes: Sequence[Sequence[Task]], now: datetime, calendar: ShopCalendar, asked: Quote
) -> RushCost:
    """What pieces with these routes cost the others and the customer.

    ``asked`` is the price with rush. Costs the same number of queries however many tickets wait.
    """
    late = rush_cost(routes, now, calendar)
    named = [
        MadeLate(ticket.number, short_name(ticket.customer.name), ticket.promised_at)
        for ticket in queries.promised_first(late, MOST_NAMED)
    ]
    surcharge = next((line.amount for line in asked.extras if line.key == "rush"), None)
    otherwise = earliest_ready(routes, now, calendar, queued_minutes(now, calendar=calendar))
    return RushCost(surcharge, otherwise, len(late), named)
