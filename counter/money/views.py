"""Taking money and giving it back."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from counter.models import Payment, Shop
from counter.money import services as payments
from counter.money import wording
from counter.money.forms import PayForm
from tickets.acting import AT_THE_COUNTER, act_of, safe_next
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
            back = reverse("tickets:ticket", args=[ticket.number])
            return redirect(safe_next(request, back))
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
    if taken.repeated:
        return wording.recorded_before(taken.payment, shop)
    return wording.money_recorded(taken.payment, shop, change)


urlpatterns = [path("tickets/<int:number>/pay/", pay, name="pay")]
