"""Looking people up by what they say: a number, the end of a phone, a part of a name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Max, Q, QuerySet
from django.utils.translation import gettext as _

from counter.customers.standing import CustomerStanding, customer_standing
from counter.models import IntakeDraft
from tickets import numbers
from tickets.errors import Kind, Refused
from tickets.garments.customers import WRITTEN_FIELDS
from tickets.garments.queries import find_customers
from tickets.models import Customer, Ticket
from tickets.shop.calendar import business_day
from tickets.tracking.queries import ticket_by_number

_STANDING = ("pieces__rack_place", "pieces__holds")
"""What a ticket must be read with to say where it stands."""


@dataclass(frozen=True)
class Debt:
    """A ticket that was handed over with something still to pay, in hundredths."""

    number: int
    owed_minor: int
    since: datetime


@dataclass
class FoundCustomer:
    """A customer with all that is asked at the desk; ``debts`` begin with the oldest."""

    customer: Customer
    open_tickets: list[tuple[Ticket, CustomerStanding]] = field(default_factory=list)
    debts: list[Debt] = field(default_factory=list)
    last_visit: datetime | None = None

    @property
    def owed_minor(self) -> int:
        """What is owed from before, in hundredths."""
        return sum(debt.owed_minor for debt in self.debts)

    @property
    def to_hand_over(self) -> list[Ticket]:
        """Tickets of which a piece is ready."""
        return [ticket for ticket, standing in self.open_tickets if standing.ready]


def look_up(query: str, now: datetime) -> list[FoundCustomer]:
    """Customers for a search by phone, name, ticket or piece number, with their open tickets.

    Costs the same number of queries for one and for many.
    """
    customers = list(find_customers(query))
    if (by_number := _by_number(query)) and by_number not in customers:
        customers.insert(0, by_number)
    if not customers:
        return []
    by_pk = {customer.pk: FoundCustomer(customer) for customer in customers}
    tickets = (
        Ticket.objects.filter(customer__in=customers, closed_at__isnull=True)
        .prefetch_related(*_STANDING)
        .order_by("promised_at", "pk")
    )
    for ticket in tickets:
        by_pk[ticket.customer_id].open_tickets.append((ticket, customer_standing(ticket, now)))
    for customer_id, debt in _debts(list(by_pk)):
        by_pk[customer_id].debts.append(debt)
    visits = (
        Ticket.objects.filter(customer__in=customers)
        .values_list("customer_id")
        .annotate(last=Max("opened_at"))
        .order_by("customer_id")
    )
    for customer_id, last in visits:
        by_pk[customer_id].last_visit = last
    return list(by_pk.values())


def debts_of(customer: Customer) -> list[Debt]:
    """What the customer left owed, the oldest first."""
    return [debt for _customer_id, debt in _debts([customer.pk])]


def _debts(customers: Sequence[int]) -> list[tuple[int, Debt]]:
    owing = Ticket.objects.filter(
        customer__in=customers, closed_at__isnull=False, owed_minor__gt=0
    ).order_by("closed_at", "pk")
    rows = owing.values_list("customer_id", "number", "owed_minor", "closed_at")
    return [
        (customer_id, Debt(number, owed, closed_at))
        for customer_id, number, owed, closed_at in rows
        if closed_at is not None
    ]


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


def listed_customers() -> QuerySet[Customer]:
    """Every customer, by name."""
    return Customer.objects.order_by("name", "pk")


def customer_with(pk: int) -> Customer | None:
    """The customer with this key; None for none."""
    return Customer.objects.filter(pk=pk).first()


def find_customer(pk: int, *, lock: bool = False) -> Customer:
    """The customer with this key, locked inside a transaction; ``Refused`` for none."""
    people = Customer.objects.select_for_update() if lock else Customer.objects.all()
    customer = people.filter(pk=pk).first()
    if customer is None:
        raise Refused(
            "unknown_customer",
            _("There is no customer %(id)s.") % {"id": pk},
            _("Search by phone or name in customers/."),
            kind=Kind.NOT_FOUND,
        )
    return customer


def same_in_every_field(customer: Customer) -> Customer | None:
    """Another customer of whom the very same is written."""
    fields = {name: getattr(customer, name) for name in WRITTEN_FIELDS}
    return Customer.objects.filter(**fields).exclude(pk=customer.pk).order_by("pk").first()


def with_phone(phone: str, most: int) -> list[Customer]:
    """Customers with exactly this number; none for no number."""
    return list(Customer.objects.filter(phone=phone)[:most]) if phone else []


def narrowed_to_found(customers: QuerySet[Customer], text: str) -> QuerySet[Customer]:
    """Those of the customers whom a search finds."""
    return customers & find_customers(text, limit=None)


# What the desk and a customer's page show


def drafts_under_way(most: int) -> QuerySet[IntakeDraft]:
    """Intakes that were begun and not finished, the latest change first."""
    drafts = IntakeDraft.objects.filter(ticket__isnull=True)
    return drafts.select_related("customer", "started_by").order_by("-changed_at")[:most]


def draft_of(customer: Customer) -> IntakeDraft | None:
    """The customer's intake under way."""
    return customer.drafts.filter(ticket__isnull=True).first()


def not_ready_in_time(now: datetime) -> QuerySet[Ticket]:
    """Tickets that are not ready after their promised moment, the earliest promise first."""
    late = Ticket.objects.filter(closed_at__isnull=True, ready_at__isnull=True, promised_at__lt=now)
    return _due(late)


def due_today(now: datetime) -> QuerySet[Ticket]:
    """Tickets promised for today that are in the shop and not late, the earliest promise first."""
    due = Ticket.objects.filter(promise_day=business_day(now), closed_at__isnull=True)
    return _due(due.filter(Q(ready_at__isnull=False) | Q(promised_at__gte=now)))


def next_promise(now: datetime) -> datetime | None:
    """When the next ticket is promised that is not ready yet; None for none."""
    waiting = Ticket.objects.filter(closed_at__isnull=True, ready_at__isnull=True)
    moments = waiting.filter(promised_at__gte=now).order_by("promised_at")
    return moments.values_list("promised_at", flat=True).first()


def _due(tickets: QuerySet[Ticket]) -> QuerySet[Ticket]:
    rows = tickets.select_related("customer").prefetch_related(*_STANDING)
    return rows.order_by("promised_at", "number")


def tickets_of(customer: Customer, most: int) -> QuerySet[Ticket]:
    """A customer's tickets with their pieces, the newest first."""
    tickets = customer.tickets.prefetch_related(*_STANDING)
    return tickets.order_by("-opened_at", "-pk")[:most]
