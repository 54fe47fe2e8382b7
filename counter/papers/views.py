"""The claim slip and the receipt of a ticket: printed, logged and shown as PDF."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path

from counter.models import Pickup
from counter.papers import services as papers_data
from counter.papers.queries import done_pickup
from counter.papers.services import PrintedPaper
from counter.site.trouble import here_or_404
from tickets.acting import AT_THE_COUNTER, act_of
from tickets.choices import Paper
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.tracking.views import ticket_or_404


def paper_slip(request: HttpRequest, number: int) -> HttpResponse:
    """Print and log a claim slip; the answer is the PDF."""
    ticket = ticket_or_404(number)
    if request.method != "POST":
        return _press_the_button(request, ticket, Paper.CLAIM_SLIP)
    return _pdf(papers_data.print_slip(ticket, act_of(request, AT_THE_COUNTER)))


def paper_receipt(request: HttpRequest, number: int) -> HttpResponse:
    """Print and log the receipt of the pickup named by ``pickup``, or of the last one."""
    ticket = ticket_or_404(number)
    if request.method != "POST":
        return _press_the_button(request, ticket, Paper.RECEIPT)
    chosen: Pickup | None = None
    if asked := request.POST.get("pickup", ""):
        pk = int(asked) if asked.isascii() and asked.isdigit() else 0
        chosen = here_or_404(done_pickup(ticket, pk))
    try:
        printed = papers_data.print_receipt(ticket, act_of(request, AT_THE_COUNTER), chosen)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("pickup", number=number)
    return _pdf(printed)


def _press_the_button(request: HttpRequest, ticket: Ticket, paper: Paper) -> HttpResponse:
    """An address typed or kept from earlier prints nothing; the page shows the button that does."""
    context = {"ticket": ticket, "paper": paper.label, "room": "pickup"}
    page = render(request, "counter/papers/paper.html", context, status=405)
    page.headers["Allow"] = "POST"
    return page


def _pdf(printed: PrintedPaper) -> HttpResponse:
    headers = {
        "Content-Disposition": f'inline; filename="{printed.name}"',
        "Cache-Control": "no-store",  # each showing is a logged copy
    }
    return HttpResponse(printed.pdf, content_type="application/pdf", headers=headers)


urlpatterns = [
    path("tickets/<int:number>/claim-slip.pdf", paper_slip, name="paper_slip"),
    path("tickets/<int:number>/receipt.pdf", paper_receipt, name="paper_receipt"),
]
