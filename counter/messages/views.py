"""The outbox: what waits to be sent, what was sent, what failed, and whom to call."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_GET, require_POST

from counter.messages import queries
from counter.messages import services as notices
from counter.messages.wording import was_called
from counter.models import Notice
from counter.site.trouble import here_or_404
from tickets.errors import Refused

MOST_SENT = 30


@require_GET
def messages_out(request: HttpRequest) -> HttpResponse:
    context = {
        "room": "pickup",
        "to_call": queries.due_in(Notice.State.TO_CALL),
        "failed": queries.due_in(Notice.State.FAILED),
        "waiting": queries.due_in(Notice.State.WAITING),
        "sent": queries.told_lately(MOST_SENT),
    }
    return render(request, "counter/messages/messages_out.html", context)


@require_POST
def message_called(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that the customer was told by phone."""
    notice = here_or_404(queries.notice_with(pk))
    try:
        notices.mark_called(notice)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, was_called(notice.ticket))
    return redirect("messages_out")


urlpatterns = [
    path("messages/", messages_out, name="messages_out"),
    path("messages/<int:pk>/called/", message_called, name="message_called"),
]
