"""Messages to customers: written to an outbox with the move, sent by ``manage.py send_notices``."""

from __future__ import annotations

from django.core.mail import send_mail
from django.utils import timezone
from django.utils.translation import gettext as _

from counter.messages import queries
from counter.messages.wording import ready_body, ready_subject
from counter.models import Notice, Shop
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.signals import ticket_ready
from tickets.writing import atomic_write


def connect_notices() -> None:
    ticket_ready.connect(announce_ready, dispatch_uid="counter.messages.services.ready")


def announce_ready(ticket: Ticket, **_kwargs: object) -> Notice | None:
    """Put the ready message of a whole ticket in the outbox, once while it stays ready."""
    customer = ticket.customer
    if queries.told_ready(ticket):
        return None
    by_mail = bool(customer.email and customer.may_message)
    shop = Shop.current()
    return Notice.objects.create(
        ticket=ticket,
        kind=Notice.Kind.READY,
        address=customer.email if by_mail else customer.phone,
        subject=ready_subject(ticket, shop),
        body=ready_body(ticket, shop),
        state=Notice.State.WAITING if by_mail else Notice.State.TO_CALL,
        created_at=timezone.now(),
    )


def send_waiting(limit: int = 100) -> tuple[int, int]:
    """Send messages that wait or failed before. Returns (sent, failed).

    A failed one keeps its fault to be seen and is tried again the next time. A message that is
    no longer true (a piece went back, or all was collected) stays unsent.
    """
    sent = failed = 0
    for notice in queries.unsent(limit):
        try:
            send_mail(notice.subject, notice.body, None, [notice.address])
        except OSError as fault:  # includes every SMTP error and refused connections
            notice.state, notice.fault = Notice.State.FAILED, str(fault)[:300]
            failed += 1
        else:
            notice.state, notice.sent_at, notice.fault = Notice.State.SENT, timezone.now(), ""
            sent += 1
        notice.save(update_fields=["state", "sent_at", "fault"])
    return sent, failed


def mark_called(notice: Notice) -> Notice:
    """The customer was told by phone. Marking it again changes nothing.

    A message whose sending failed may be told by phone too; one that was sent may not.
    """
    with atomic_write():
        locked = Notice.objects.select_for_update().get(pk=notice.pk)
        if locked.state == Notice.State.CALLED:
            return locked
        if locked.state not in (Notice.State.TO_CALL, Notice.State.FAILED):
            raise Refused(
                "not_to_call",
                _("The message for ticket %(ticket)s is not waiting for a call: %(state)s.")
                % {"ticket": notice.ticket.number, "state": locked.get_state_display()},
                _("Nothing needs to be done."),
            )
        locked.state, locked.sent_at = Notice.State.CALLED, timezone.now()
        locked.save(update_fields=["state", "sent_at"])
    return locked
