"""What tickets cost and what was taken, read from the price list, the lines and the payments."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import (
    BigIntegerField,
    Case,
    Count,
    DecimalField,
    Exists,
    ExpressionWrapper,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.expressions import Combinable
from django.db.models.functions import Cast, Coalesce, Round

from counter.models import Payment, PriceItem, TicketLine
from tickets.choices import PieceState
from tickets.models import Piece, Ticket

HUNDREDTHS = 100
"""Kept balances are whole numbers: hundredths, the smallest unit that any amount is stored in."""


@dataclass(frozen=True)
class Balance:
    """All in the shop's currency. ``owed`` below zero means that money has to go back."""

    total: Decimal
    paid: Decimal

    @property
    def owed(self) -> Decimal:
        return self.total - self.paid

    @property
    def to_pay(self) -> Decimal:
        return max(self.owed, Decimal(0))

    @property
    def to_return(self) -> Decimal:
        return max(-self.owed, Decimal(0))


@dataclass(frozen=True)
class Takings:
    """Money of one day: one row for each kind and means, refunds below zero, and their sum."""

    rows: list[TakingsRow]

    @property
    def total(self) -> Decimal:
        return sum((row.amount for row in self.rows), Decimal(0))


@dataclass(frozen=True)
class TakingsRow:
    kind: str
    means: str
    count: int
    amount: Decimal

    @property
    def kind_label(self) -> str:
        return str(Payment.Kind(self.kind).label)

    @property
    def means_label(self) -> str:
        return str(Payment.Means(self.means).label)


def charged_lines() -> QuerySet[TicketLine]:
    """The lines that count: work on a piece that went back undone is not charged.

    The rush and minimum lines of a ticket fall away with its last charged piece.
    """
    charged = Piece.objects.filter(ticket=OuterRef("ticket")).exclude(state=PieceState.RETURNED)
    return TicketLine.objects.exclude(piece__state=PieceState.RETURNED).filter(
        Q(piece__isnull=False) | Exists(charged)
    )


def lines_of(ticket: Ticket) -> list[TicketLine]:
    """The lines of a ticket that count, with their pieces, as they were priced."""
    lines = charged_lines().filter(ticket=ticket)
    return list(lines.select_related("piece").order_by("pk"))


def states_of(ticket: Ticket) -> list[str]:
    """The states of a ticket's pieces."""
    return list(ticket.pieces.values_list("state", flat=True))


def payments_of(ticket: Ticket) -> list[Payment]:
    """What was taken and given back for a ticket and by whom, the earliest first."""
    return list(ticket.payments.select_related("by").order_by("at", "pk"))


def balances(ticket_ids: Iterable[int]) -> dict[int, Balance]:
    """Balances of many tickets by id, in two queries."""
    wanted = list(ticket_ids)
    totals = dict(
        charged_lines()
        .filter(ticket__in=wanted)
        .order_by()
        .values_list("ticket")
        .annotate(total=Sum("amount"))
    )
    refund = Q(kind=Payment.Kind.REFUND)
    paid: dict[int, Decimal] = {
        ticket: (taken or Decimal(0)) - (returned or Decimal(0))
        for ticket, taken, returned in Payment.objects.filter(ticket__in=wanted)
        .order_by()
        .values_list("ticket")
        .annotate(taken=Sum("amount", filter=~refund), returned=Sum("amount", filter=refund))
    }
    nothing = Decimal(0)
    return {pk: Balance(totals.get(pk, nothing), paid.get(pk, nothing)) for pk in wanted}


def balance(ticket: Ticket) -> Balance:
    return balances([ticket.pk])[ticket.pk]


def payments_by_day(first: date, last: date) -> list[tuple[date, str, str, int, Decimal]]:
    """Of each day: kind and means of payments, how many there are, and what they come to, in the
    hundredths that amounts are stored in."""
    payments = Payment.objects.filter(business_day__range=(first, last)).order_by()
    rows = payments.values_list("business_day", "kind", "means")
    sums = rows.annotate(count=Count("pk"), sum=Sum("amount"))
    return [(*row[:4], row[4].quantize(Decimal("0.01"))) for row in sums]


def takings_of(payments: Iterable[tuple[str, str, int, Decimal]]) -> Takings:
    """Money received and given back: of each kind and means how many payments, and their sum."""
    sums = {
        (kind, means): (count, -amount if kind == Payment.Kind.REFUND else amount)
        for kind, means, count, amount in payments
    }
    order = [(kind, means) for kind in Payment.Kind.values for means in Payment.Means.values]
    return Takings([TakingsRow(*key, *sums[key]) for key in order if key in sums])


def owed_minor() -> Combinable:
    """What a ticket owes, as the database works it out of its lines and payments.

    In hundredths of the shop's currency: whole numbers, since the sums of SQLite are floats.
    """
    money = DecimalField(max_digits=12, decimal_places=2)
    nothing = Value(Decimal(0), output_field=money)
    signed = Case(When(kind=Payment.Kind.REFUND, then=-F("amount")), default=F("amount"))
    charged = (
        charged_lines()
        .filter(ticket=OuterRef("pk"))
        .order_by()
        .values("ticket")
        .annotate(sum=Sum("amount"))
    )
    received = (
        Payment.objects.filter(ticket=OuterRef("pk"))
        .order_by()
        .values("ticket")
        .annotate(sum=Sum(signed, output_field=money))
    )
    owed = Coalesce(Subquery(charged.values("sum"), output_field=money), nothing) - Coalesce(
        Subquery(received.values("sum"), output_field=money), nothing
    )
    return Cast(Round(ExpressionWrapper(owed * HUNDREDTHS, output_field=money)), BigIntegerField())


def wrongly_kept() -> list[tuple[int, int, int, int]]:
    """Tickets whose kept balance is not what lines and payments come to.

    For each its id, its number, and what is kept and what is due in hundredths.
    """
    tickets = Ticket.objects.annotate(due=owed_minor()).exclude(owed_minor=F("due"))
    return list(tickets.order_by("number").values_list("pk", "number", "owed_minor", "due"))


def owing(tickets: QuerySet[Ticket]) -> QuerySet[Ticket]:
    """Those with something still to pay."""
    return tickets.filter(owed_minor__gt=0)


def owed_by(ticket: Ticket) -> Decimal:
    """What a ticket still has to pay by its kept balance, never below zero."""
    return max(of_hundredths(ticket.owed_minor), Decimal(0))


def to_hundredths(amount: Decimal) -> int:
    """An amount as a kept balance counts it, rounded as the database stores it."""
    return round(amount * HUNDREDTHS)


def of_hundredths(minor: int) -> Decimal:
    """A kept amount in the shop's currency."""
    return Decimal(minor) / HUNDREDTHS


@dataclass(frozen=True)
class PriceList:
    """All prices, read once; all sums after that need no database."""

    by_kind: Mapping[tuple[str, str], Decimal]
    by_work: Mapping[str, Decimal]

    @classmethod
    def load(cls) -> PriceList:
        by_kind: dict[tuple[str, str], Decimal] = {}
        by_work: dict[str, Decimal] = {}
        for item in PriceItem.objects.all():
            if item.work:
                # An operation may stand under mend and under alter; the dearer one is asked.
                by_work[item.work] = max(item.amount, by_work.get(item.work, item.amount))
            else:
                by_kind[item.service, item.kind] = item.amount
        return cls(by_kind, by_work)

    def of_service(self, service: str, kind: str) -> Decimal | None:
        exact = self.by_kind.get((service, kind))
        return self.by_kind.get((service, "")) if exact is None else exact
