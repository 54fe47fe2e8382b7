"""The outbox: what waits to be sent, what was sent, what failed, and whom to call."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from counter.messages import services as notices
from counter.models import Notice
from tickets.errors import Refused

MOST_SENT = 30


@require_GET
def messages_out(request: HttpRequest) -> HttpResponse:
    with_ticket = Notice.objects.select_related("ticket__customer")
    due = notices.still_true(with_ticket)
    context = {
        "room": "pickup",
        "to_call": due.filter(state=Notice.State.TO_CALL),
        "failed": due.filter(state=Notice.State.FAILED),
        "waiting": due.filter(state=Notice.State.WAITING),
        "sent": with_ticket.filter(state__in=[Notice.State.SENT, Notice.State.CALLED]).order_by(
            "-sent_at", "-pk"
        )[:MOST_SENT],
    }
    return render(request, "counter/messages/messages_out.html", context)


@require_POST
def message_called(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that the customer was told by phone."""
    notice = get_object_or_404(Notice.objects.select_related("ticket__customer"), pk=pk)
    try:
        notices.mark_called(notice)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("%(name)s was called.") % {"name": notice.ticket.customer.name})
    return redirect("messages_out")


urlpatterns = [
    path("messages/", messages_out, name="messages_out"),
    path("messages/<int:pk>/called/", message_called, name="message_called"),
]
