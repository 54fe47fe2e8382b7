"""What a template needs to show a ticket's money, so that the tickets app needs no counter code."""

from __future__ import annotations

import uuid
from dataclasses import dataclass

from django import template
from django.http import HttpRequest

from care_rules import JsonMapping
from counter.models import Payment, Pickup, Shop, TicketLine
from counter.money.forms import PayForm
from counter.money.queries import (
    Balance,
    balance,
    lines_of,
    of_hundredths,
    owed_by,
    payments_of,
    states_of,
)
from counter.pickup.queries import handed_over
from counter.roles import COUNTER, roles_of
from tickets.choices import PieceState
from tickets.models import Ticket

register = template.Library()


@dataclass(frozen=True)
class Account:
    """One ticket's money, ready to show. ``may_take`` is for the counter and the owner."""

    ticket: Ticket
    lines: list[TicketLine]
    payments: list[Payment]
    pickups: list[Pickup]
    balance: Balance
    kind: str
    key: str
    refund_key: str
    next: str
    may_take: bool
    amount: str
    returned: bool

    @property
    def has_receipt(self) -> bool:
        return bool(self.payments or self.pickups)


register.filter("to_pay", owed_by)
register.filter("of_hundredths", of_hundredths)


@register.simple_tag(takes_context=True)
def account_of(context: JsonMapping, ticket: Ticket) -> Account:
    """Lines, payments, balance and fresh one-time keys of a ticket."""
    request, shop = context.get("request"), Shop.current()
    account = balance(ticket)
    pieces = states_of(ticket)
    work_done = any(state in (PieceState.READY, PieceState.COLLECTED) for state in pieces)
    return Account(
        ticket=ticket,
        lines=lines_of(ticket),
        payments=payments_of(ticket),
        pickups=handed_over(ticket),
        balance=account,
        kind=Payment.Kind.PAYMENT if work_done else Payment.Kind.DEPOSIT,
        key=str(uuid.uuid4()),
        refund_key=str(uuid.uuid4()),
        next=_next(request),
        may_take=bool(request and COUNTER in roles_of(request.user)),
        amount=PayForm.show(account.to_pay, shop) if account.to_pay else "",
        returned=PieceState.RETURNED in pieces,
    )


def _next(request: HttpRequest | None) -> str:
    """Where a payment comes back to: this page, or after a fault where it came from."""
    if request is None:
        return ""
    return request.POST.get("next", "") if request.method == "POST" else request.get_full_path()
