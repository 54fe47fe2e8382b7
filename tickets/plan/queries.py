"""What the wall asks of the database beside the plan: the tickets that are to be ready."""

from __future__ import annotations

from datetime import datetime

from tickets.models import Ticket


def promised_before(end: datetime, numbers: list[int]) -> list[Ticket]:
    """Of these open tickets those that are not ready and are promised before ``end``, with their
    customers, the earliest promise first; one query."""
    tickets = Ticket.objects.filter(number__in=numbers, ready_at=None, promised_at__lt=end)
    return list(tickets.select_related("customer").order_by("promised_at", "number"))
