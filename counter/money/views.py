"""Taking money, and the two papers that go with it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from counter.models import Payment, Pickup, Shop
from counter.money import services as payments
from counter.money.amounts import format_money
from counter.money.forms import PayForm
from counter.papers import services as papers_data
from counter.papers.services import Printed
from tickets.acting import AT_THE_COUNTER, act_of
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.tracking.views import ticket_or_404


@require_http_methods(["GET", "POST"])
def pay(request: HttpRequest, number: int) -> HttpResponse:
    """Take or give back money; a repeated form changes nothing and says so."""
    ticket = ticket_or_404(number)
    shop = Shop.current()
    if request.method == "GET":
        return render(request, "counter/money/pay.html", {"ticket": ticket, "room": "pickup"})
    form = PayForm(request.POST, shop=shop)
    if form.is_valid():
        try:
            words = _take(ticket, form, request)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, words)
            return redirect(_home(request, ticket))
    context = {"ticket": ticket, "pay_form": form, "room": "pickup"}
    return render(request, "counter/money/pay.html", context, status=422)


def _take(ticket: Ticket, form: PayForm, request: HttpRequest) -> str:
    """Record the payment of a valid form; returns the sentence to show."""
    data, shop = form.cleaned_data, form.shop
    change = None
    if data["given"] is not None and data["means"] == Payment.Means.CASH:
        change = payments.change_for(data["given"], data["amount"])
    taken = payments.take(
        ticket,
        data["kind"],
        data["means"],
        data["amount"],
        act_of(request, AT_THE_COUNTER),
        data["key"],
        data["reason"],
    )
    facts = {
        "kind": taken.payment.get_kind_display(),
        "amount": format_money(taken.payment.amount, shop),
        "means": taken.payment.get_means_display(),
    }
    if taken.repeated:
        return _("This was already recorded: %(kind)s of %(amount)s, %(means)s.") % facts
    words = _("%(kind)s of %(amount)s recorded, %(means)s.") % facts
    if change:
        words += " " + _("Change to give back: %(change)s.") % {
            "change": format_money(change, shop)
        }
    return words


def _home(request: HttpRequest, ticket: Ticket) -> str:
    target = request.POST.get("next", "")
    if target and url_has_allowed_host_and_scheme(target, {request.get_host()}):
        return target
    return reverse("tickets:ticket", args=[ticket.number])


def paper_slip(request: HttpRequest, number: int) -> HttpResponse:
    """Print and log a claim slip; the answer is the PDF."""
    ticket = ticket_or_404(number)
    if request.method != "POST":
        return _press_the_button(request, ticket, _("Claim slip"))
    return _pdf(papers_data.print_slip(ticket, act_of(request, AT_THE_COUNTER)))


def paper_receipt(request: HttpRequest, number: int) -> HttpResponse:
    """Print and log the receipt of the pickup named by ``pickup``, or of the last one."""
    ticket = ticket_or_404(number)
    if request.method != "POST":
        return _press_the_button(request, ticket, _("Receipt"))
    chosen: Pickup | None = None
    if asked := request.POST.get("pickup", ""):
        done = ticket.pickups.filter(done_at__isnull=False)
        chosen = get_object_or_404(
            done, pk=int(asked) if asked.isascii() and asked.isdigit() else 0
        )
    try:
        printed = papers_data.print_receipt(ticket, act_of(request, AT_THE_COUNTER), chosen)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("pickup", number=number)
    return _pdf(printed)


def _press_the_button(request: HttpRequest, ticket: Ticket, paper: str) -> HttpResponse:
    """An address typed or kept from earlier prints nothing; the page shows the button that does."""
    context = {"ticket": ticket, "paper": paper, "room": "pickup"}
    page = render(request, "counter/papers/paper.html", context, status=405)
    page.headers["Allow"] = "POST"
    return page


def _pdf(printed: Printed) -> HttpResponse:
    headers = {
        "Content-Disposition": f'inline; filename="{printed.name}"',
        "Cache-Control": "no-store",  # each showing is a logged copy
    }
    return HttpResponse(printed.pdf, content_type="application/pdf", headers=headers)


urlpatterns = [
    path("tickets/<int:number>/pay/", pay, name="pay"),
    path("tickets/<int:number>/claim-slip.pdf", paper_slip, name="paper_slip"),
    path("tickets/<int:number>/receipt.pdf", paper_receipt, name="paper_receipt"),
]
