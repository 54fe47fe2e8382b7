"""What is promised, in the groups in which the desk is asked for it: late, at risk, today."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from counter.customers import wording
from counter.customers.standing import CustomerStanding, customer_standing
from tickets.models import Ticket
from tickets.promise.expected import Outlook


@dataclass(frozen=True)
class DueGroup:
    """``level`` is late, risk or today. Of the ``count`` tickets the ``rows`` may be fewer."""

    level: str
    rows: list[tuple[Ticket, CustomerStanding]]
    count: int

    @property
    def title(self) -> str:
        return str(wording.LEVELS[self.level])


def due_groups(
    late: Iterable[Ticket],
    late_count: int,
    today: Iterable[Ticket],
    outlook: Outlook | None,
    now: datetime,
) -> list[DueGroup]:
    """Those groups in which there is a ticket. ``today``: promised for today and not late; at risk
    are those of them that the ``outlook`` expects after their promise. No query."""
    risky, others = list[Ticket](), list[Ticket]()
    for ticket in today:
        (risky if _is_at_risk(ticket, outlook) else others).append(ticket)
    groups = (
        _group("late", late, now, late_count),
        _group("risk", risky, now),
        _group("today", others, now),
    )
    return [group for group in groups if group.rows]


def _group(level: str, tickets: Iterable[Ticket], now: datetime, count: int = 0) -> DueGroup:
    rows = [(ticket, customer_standing(ticket, now)) for ticket in tickets]
    return DueGroup(level, rows, max(count, len(rows)))


def _is_at_risk(ticket: Ticket, outlook: Outlook | None) -> bool:
    if outlook is None or ticket.number not in outlook.cases:
        return False
    return outlook.expected(ticket.number).at > ticket.promised_at
