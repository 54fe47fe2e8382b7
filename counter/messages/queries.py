"""The outbox as it stands: what is still true, what waits, what was sent."""

from __future__ import annotations

from django.db.models import F, QuerySet

from counter.models import Notice
from tickets.models import Ticket

_UNSENT = (Notice.State.WAITING, Notice.State.FAILED)
_TOLD = (Notice.State.SENT, Notice.State.CALLED)


def still_true(notices: QuerySet[Notice]) -> QuerySet[Notice]:
    """Those whose ticket is as ready as it was when they were written, and still in the shop."""
    return notices.filter(
        ticket__ready_at__isnull=False,
        ticket__closed_at__isnull=True,
        created_at__gte=F("ticket__ready_at"),
    )


def unsent(most: int) -> QuerySet[Notice]:
    """Messages that wait or failed before and are still true."""
    return still_true(Notice.objects.filter(state__in=_UNSENT))[:most]


def due_in(state: Notice.State) -> QuerySet[Notice]:
    """Messages in one state that are still true, with their customers."""
    return still_true(_with_customer()).filter(state=state)


def told_lately(most: int) -> QuerySet[Notice]:
    """What was sent or told by phone, the latest first."""
    notices = _with_customer().filter(state__in=_TOLD, sent_at__isnull=False)
    return notices.order_by("-sent_at", "-pk")[:most]


def notice_with(pk: int) -> Notice | None:
    """One message with its customer; None for none."""
    return _with_customer().filter(pk=pk).first()


def told_ready(ticket: Ticket) -> bool:
    """Whether the ready message of a ticket was written since it became ready."""
    ready = ticket.notices.filter(kind=Notice.Kind.READY, created_at__gte=ticket.ready_at)
    return ready.exists()


def _with_customer() -> QuerySet[Notice]:
    return Notice.objects.select_related("ticket__customer")
