"""Money of a ticket: what it costs, what was taken, what is still to pay.

The card itself is never seen here. A terminal outside the system takes it, and a text that looks
like a card number is refused wherever staff can type one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
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
from django.utils import timezone
from django.utils.translation import gettext as _

from counter.models import Payment, Shop, TicketLine
from counter.money.amounts import MOST, decimals, format_money, rounded
from tickets.acting import Act
from tickets.choices import PieceState
from tickets.errors import Kind, Refused
from tickets.models import Piece, Ticket
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking
from tickets.writing import atomic_write

_DIGIT_RUNS = re.compile(r"\d(?:[ .-]?\d){11,18}(?![ .-]?\d)")


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
class Taken:
    """Result of ``take``. ``repeated`` means the key was known and nothing new was written."""

    payment: Payment
    repeated: bool = False


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


def take(
    ticket: Ticket,
    kind: str,
    means: str,
    amount: Decimal,
    act: Act,
    client_key: str,
    reason: str = "",
) -> Taken:
    """Record money taken or given back, once for each ``client_key``.

    Raises ``Refused`` for an amount of zero or less, more than is still to pay, a refund of more
    than was paid or without a reason, a reason that looks like a card number, and a key that
    already stands for another payment.
    """
    reason = " ".join(reason.split())
    _check_words(kind, means, client_key)
    _check_amount(amount)
    refuse_card_number(reason, _("Reason"))
    if kind == Payment.Kind.REFUND and not reason:
        raise Refused(
            "no_reason",
            _("A refund needs a reason."),
            _("Say why it goes back."),
            kind=Kind.INVALID,
        )
    with atomic_write():
        locked = tracking.lock_ticket(ticket.number)
        if known := Payment.objects.filter(client_key=client_key).first():
            return _known(known, locked, kind, means, amount)
        _check_room(locked, kind, amount)
        payment = Payment.objects.create(
            ticket=locked,
            kind=kind,
            means=means,
            amount=amount,
            reason=reason[:200],
            at=act.at,
            business_day=business_day(act.at),
            by=act.by,
            client_key=client_key,
        )
    return Taken(payment)


def change_for(given: Decimal, amount: Decimal) -> Decimal:
    """Change for cash given; ``Refused`` when it does not cover the amount."""
    if given < amount:
        shop = Shop.current()
        raise Refused(
            "too_little_given",
            _("Cash given, %(given)s, is less than the %(amount)s to take.")
            % {"given": format_money(given, shop), "amount": format_money(amount, shop)},
            _("Take the smaller amount as a part payment, or ask for the rest."),
        )
    return given - amount


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


def looks_like_card_number(text: str) -> bool:
    """Whether a text is, or holds, what may be a card number.

    That is 12 to 19 digits, with or without gaps, standing alone, or among other words with a
    right check digit (ISO/IEC 7812-1: lengths and the mod 10 double-add-double formula).
    """
    for run in _DIGIT_RUNS.finditer(text):
        digits = re.sub(r"\D", "", run.group())
        if run.group() == text.strip() or _mod_10(digits):
            return True
    return False


def refuse_card_number(text: str, where: str) -> None:
    if looks_like_card_number(text):
        raise Refused(
            "card_number",
            _("%(where)s: this looks like a card number, which must not be kept.")
            % {"where": where},
            _("Write it in words, without the number."),
        )


def _mod_10(digits: str) -> bool:
    total = 0
    for place, digit in enumerate(reversed(digits)):
        value = int(digit) * (2 if place % 2 else 1)
        total += value - 9 if value > 9 else value
    return total % 10 == 0


def _check_words(kind: str, means: str, client_key: str) -> None:
    for value, offered in ((kind, Payment.Kind), (means, Payment.Means)):
        if value not in offered.values:
            raise Refused(
                "bad_choice",
                _("%(value)s is not one of the choices.") % {"value": value or "–"},
                _("Choose one of: %(offered)s.")
                % {"offered": ", ".join(str(label) for label in offered.labels)},
            )
    if not client_key or len(client_key) > 64:
        raise Refused("no_key", _("The form has no one-time key."), _("Open the page again."))


def _check_amount(amount: Decimal) -> None:
    shop = Shop.current()
    fits = amount.is_finite() and 0 < amount <= MOST and amount == rounded(amount, shop)
    if not fits:
        raise Refused(
            "bad_amount",
            _("%(amount)s can't be taken.") % {"amount": amount},
            _("Write an amount above zero, like %(example)s.")
            % {"example": "12.50" if decimals(shop) else "1250"},
            kind=Kind.INVALID,
        )


def _known(known: Payment, ticket: Ticket, kind: str, means: str, amount: Decimal) -> Taken:
    asked = (ticket.pk, kind, means, amount)
    if (known.ticket_id, known.kind, known.means, known.amount) == asked:
        return Taken(known, repeated=True)
    raise Refused(
        "key_used",
        _("This form was sent before: %(what)s of %(amount)s was recorded at %(when)s.")
        % {
            "what": known.get_kind_display(),
            "amount": format_money(known.amount, Shop.current()),
            "when": timezone.localtime(known.at).strftime("%H:%M"),
        },
        _("Look at the payments, then use the fresh form below."),
    )


def _check_room(ticket: Ticket, kind: str, amount: Decimal) -> None:
    now, shop = balance(ticket), Shop.current()
    facts = {"amount": format_money(amount, shop), "ticket": ticket.number}
    if kind == Payment.Kind.REFUND:
        if amount > now.paid:
            raise Refused(
                "refund_too_high",
                _("A refund of %(amount)s is more than the %(paid)s paid on ticket %(ticket)s.")
                % {**facts, "paid": format_money(now.paid, shop)},
                _("Give back at most what was paid."),
            )
    elif amount > now.to_pay:
        raise Refused(
            "overpaid",
            _("%(amount)s is more than the %(owed)s still to pay on ticket %(ticket)s.")
            % {**facts, "owed": format_money(now.to_pay, shop)},
            _("Take what is owed; for cash, type what was given and hand back the change."),
        )


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
