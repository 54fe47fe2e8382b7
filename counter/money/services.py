"""Taking and giving back money for a ticket.

The card itself is never seen here. A terminal outside the system takes it, and a text that looks
like a card number is refused wherever staff can type one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone
from django.utils.translation import gettext as _

from counter.models import Payment, Shop, TicketLine
from counter.money.amounts import MOST, decimals, format_money, rounded
from counter.money.card_numbers import refuse_card_number
from counter.money.queries import Balance, balance, owed_minor, to_hundredths, wrongly_kept
from tickets.acting import Act
from tickets.errors import Kind, Refused
from tickets.models import Ticket
from tickets.shop.calendar import business_day
from tickets.signals import piece_returned
from tickets.tracking import services as tracking
from tickets.writing import atomic_write


@dataclass(frozen=True)
class Taken:
    """Result of ``take``. ``repeated`` means the key was known and nothing new was written."""

    payment: Payment
    repeated: bool = False


def connect_balances() -> None:
    piece_returned.connect(charge_anew, dispatch_uid="counter.money.services.returned")


def charge_anew(ticket: Ticket, **_kwargs: object) -> None:
    """A piece went back undone: its lines are no longer owed."""
    keep_balances([ticket.pk])


def charge_at_opening(ticket: Ticket, lines: Iterable[TicketLine]) -> None:
    """Let a ticket that is not written yet owe what its lines come to: nothing is paid on it."""
    ticket.owed_minor = sum(to_hundredths(line.amount) for line in lines)


def keep_balances(ticket_ids: Iterable[int]) -> None:
    """Write what tickets owe into their rows, from their lines and payments: one query.

    A payment, which works the balance out anyhow, writes it by itself. Must run inside the
    transaction that charges or gives back, with the tickets locked.
    """
    Ticket.objects.filter(pk__in=list(ticket_ids)).update(owed_minor=owed_minor())


def mend_balances() -> list[tuple[int, int, int, int]]:
    """Keep what lines and payments come to where something else was kept; what that was."""
    with atomic_write():
        wrong = wrongly_kept()
        for key, _number, _kept, _due in wrong:
            keep_balances([key])
    return wrong


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
        before = balance(locked)
        _check_room(locked, kind, amount, before)
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
        owed = to_hundredths(before.owed - payment.signed)
        Ticket.objects.filter(pk=locked.pk).update(owed_minor=owed)
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


def _check_room(ticket: Ticket, kind: str, amount: Decimal, now: Balance) -> None:
    refund = kind == Payment.Kind.REFUND
    if amount <= (now.paid if refund else now.to_pay):
        return
    shop = Shop.current()
    facts = {"amount": format_money(amount, shop), "ticket": ticket.number}
    if refund:
        raise Refused(
            "refund_too_high",
            _("A refund of %(amount)s is more than the %(paid)s paid on ticket %(ticket)s.")
            % {**facts, "paid": format_money(now.paid, shop)},
            _("Give back at most what was paid."),
        )
    raise Refused(
        "overpaid",
        _("%(amount)s is more than the %(owed)s still to pay on ticket %(ticket)s.")
        % {**facts, "owed": format_money(now.to_pay, shop)},
        _("Take what is owed; for cash, type what was given and hand back the change."),
    )
