"""Looking people up by what they say: a number, the end of a phone, a part of a name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Max

from counter.customers.standing import CustomerStanding, customer_standing
from tickets import numbers
from tickets.garments.customers import find_customers
from tickets.models import Customer, Ticket
from tickets.tracking.queries import ticket_by_number


@dataclass
class FoundCustomer:
    customer: Customer
    open_tickets: list[tuple[Ticket, CustomerStanding]] = field(default_factory=list)
    last_visit: datetime | None = None


def look_up(query: str, now: datetime) -> list[FoundCustomer]:
    """Customers for a search by phone, name, ticket or piece number, with their open tickets.

    Costs the same number of queries for one and for many.
    """
    customers = list(find_customers(query))
    if (by_number := _by_number(query)) and by_number not in customers:
        customers.insert(0, by_number)
    if not customers:
        return []
    found = {customer.pk: FoundCustomer(customer) for customer in customers}
    tickets = (
        Ticket.objects.filter(customer__in=customers, closed_at__isnull=True)
        .prefetch_related("pieces__rack_place")
        .order_by("promised_at", "pk")
    )
    for ticket in tickets:
        found[ticket.customer_id].open_tickets.append((ticket, customer_standing(ticket, now)))
    visits = (
        Ticket.objects.filter(customer__in=customers)
        .values_list("customer_id")
        .annotate(last=Max("opened_at"))
        .order_by("customer_id")
    )
    for customer_id, last in visits:
        found[customer_id].last_visit = last
    return list(found.values())


def twins_of(customers: Sequence[Customer]) -> set[int]:
    """Keys of customers that share a name or a phone with another one of the list."""
    seen: dict[str, list[int]] = {}
    for customer in customers:
        for sign in filter(None, (customer.name.casefold(), customer.phone)):
            seen.setdefault(sign, []).append(customer.pk)
    return {pk for keys in seen.values() if len(keys) > 1 for pk in keys}


def _by_number(query: str) -> Customer | None:
    try:
        code = numbers.parse_code(query)
    except numbers.NumberError:
        return None
    ticket = ticket_by_number(code.ticket)
    return ticket.customer if ticket else None
