"""Where a ticket stands, in the words that answer "is it ready?"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Max
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets import numbers
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.garments.customers import find_customers
from tickets.models import Customer, Piece, Ticket
from tickets.tracking.queries import ticket_by_number


@dataclass(frozen=True)
class CustomerStanding:
    """``state`` is ready, late, held, waiting or closed; ``words`` is said first, then ``more``."""

    state: str
    words: str
    more: str = ""


@dataclass
class FoundCustomer:
    customer: Customer
    open_tickets: list[tuple[Ticket, CustomerStanding]] = field(default_factory=list)
    last_visit: datetime | None = None


def shown_moment(moment: datetime) -> str:
    """A moment in shop time as staff say it: ``Tue 4 Mar, 14:00``."""
    return date_format(timezone.localtime(moment), "D j M, H:i")


def customer_standing(ticket: Ticket, now: datetime) -> CustomerStanding:
    """Read the pieces of a ticket (prefetch ``pieces__rack_place``)."""
    pieces = [piece for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    if not pieces:
        closed = ticket.closed_at
        when = {"when": shown_moment(closed) if closed else ""}
        return CustomerStanding("closed", _("Closed %(when)s") % when)
    ready = [piece for piece in pieces if piece.state == PieceState.READY]
    if len(ready) == len(pieces):
        return CustomerStanding("ready", _("READY at %(places)s") % {"places": _places(ready)})
    promised = _("promised %(when)s") % {"when": shown_moment(ticket.promised_at)}
    words = _where([piece for piece in pieces if piece.state != PieceState.READY])
    more = promised
    if ready:
        more += "; " + ngettext(
            "%(count)d piece ready at %(places)s",
            "%(count)d pieces ready at %(places)s",
            len(ready),
        ) % {"count": len(ready), "places": _places(ready)}
    if ticket.promised_at < now:
        return CustomerStanding("late", _("LATE: %(words)s") % {"words": words}, more)
    held = any(piece.state == PieceState.HELD for piece in pieces)
    return CustomerStanding("held" if held else "waiting", words, more)


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


def _places(pieces: Sequence[Piece]) -> str:
    codes = {piece.rack_place.code for piece in pieces if piece.rack_place}
    return ", ".join(sorted(codes))


def _where(pieces: Sequence[Piece]) -> str:
    """``on hold at Bench, waiting at Wash (2)``, furthest behind first."""
    counted: dict[str, int] = {}
    order = list(Station)
    for piece in sorted(
        pieces, key=lambda each: (each.state != PieceState.HELD, order.index(Station(each.station)))
    ):
        state = PieceState(piece.state).label.lower()
        words = _("%(state)s at %(station)s") % {
            "state": state,
            "station": Station(piece.station).label,
        }
        counted[words] = counted.get(words, 0) + 1
    return ", ".join(
        words if count == 1 and len(pieces) == 1 else f"{words} ({count})"
        for words, count in counted.items()
    )
