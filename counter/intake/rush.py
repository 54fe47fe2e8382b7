"""What it costs to let a ticket go first, told before anybody says yes to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from counter.money.prices import Quote
from tickets.models import Ticket
from tickets.promise.open_work import OpenWork
from tickets.promise.quote import Promise, backlog_of, earliest_ready
from tickets.promise.tasks import Task
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
    routes: Sequence[Sequence[Task]],
    now: datetime,
    work: OpenWork,
    asked: Quote,
    *,
    late_count: int,
    promised_first: Iterable[Ticket],
) -> RushCost:
    """What pieces with these routes cost the others and the customer.

    ``asked`` is the price with rush, ``late_count`` how many tickets it makes late; of these
    ``promised_first`` are named.
    """
    named = [
        MadeLate(ticket.number, short_name(ticket.customer.name), ticket.promised_at)
        for ticket in promised_first
    ]
    surcharge = next((line.amount for line in asked.extras if line.key == "rush"), None)
    otherwise = earliest_ready(routes, now, work.calendar, backlog_of(work))
    return RushCost(surcharge, otherwise, late_count, named)
