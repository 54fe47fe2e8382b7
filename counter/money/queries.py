"""What tickets cost and what was taken, read from the price list, the lines and the payments."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import (
    Case,
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
from django.db.models.functions import Coalesce

from counter.models import Payment, PriceItem, TicketLine
from tickets.choices import PieceState
from tickets.models import Piece, Ticket


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


def day_takings(day: date) -> Takings:
    """Money received and given back on a business day, by kind and means."""
    found: dict[tuple[str, str], tuple[int, Decimal]] = {}
    payments = Payment.objects.filter(business_day=day).values_list("kind", "means", "amount")
    for kind, means, amount in payments:
        count, total = found.get((kind, means), (0, Decimal(0)))
        signed = -amount if kind == Payment.Kind.REFUND else amount
        found[kind, means] = count + 1, total + signed
    order = [(kind, means) for kind in Payment.Kind.values for means in Payment.Means.values]
    return Takings([TakingsRow(*key, *found[key]) for key in order if key in found])


def with_balance(tickets: QuerySet[Ticket]) -> QuerySet[Ticket]:
    """Tickets with ``charged``, ``received`` and ``owes`` worked out by the database."""
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
    return tickets.annotate(
        charged=Coalesce(Subquery(charged.values("sum"), output_field=money), nothing),
        received=Coalesce(Subquery(received.values("sum"), output_field=money), nothing),
    ).annotate(owes=ExpressionWrapper(F("charged") - F("received"), output_field=money))


def owing(tickets: QuerySet[Ticket]) -> QuerySet[Ticket]:
    """Those with something still to pay. Half a cent keeps the sums of SQLite's floats honest."""
    return with_balance(tickets).filter(Q(owes__gt=Decimal("0.005")))


def owed_by(ticket: Ticket) -> Decimal:
    """What a ticket of ``with_balance`` still has to pay, never below zero."""
    owes: Decimal = ticket.owes  # type: ignore[attr-defined]
    return max(owes, Decimal(0))


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
