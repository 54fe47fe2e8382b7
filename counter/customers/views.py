"""The counter's start: who is it, is it ready, and the customer's page."""

from __future__ import annotations

import re
import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from counter.customers.forms import CustomerForm
from counter.customers.queries import look_up, twins_of
from counter.customers.standing import CustomerStanding, customer_standing
from counter.models import IntakeDraft, Shop
from tickets import wording
from tickets.errors import Refused
from tickets.garments.customers import (
    WRITTEN_FIELDS,
    find_customers,
    parse_phone,
    save_customer,
    words_of,
)
from tickets.garments.queries import garments_of
from tickets.models import Customer, Ticket
from tickets.shop.calendar import business_day

MOST_DRAFTS = 20
MOST_DUE = 30
MOST_TICKETS = 30
_MADE = "customers_made"


@require_safe
def desk(request: HttpRequest) -> HttpResponse:
    """Search box with results; a plain page without script, a fragment for htmx."""
    query = " ".join(request.GET.get("q", "").split())[:80]
    found = look_up(query, timezone.now()) if query else []
    facts = {
        "query": query,
        "found": found,
        "twins": twins_of([each.customer for each in found]),
        "room": "desk",
    }
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "counter/customers/_found.html", facts)
    facts["drafts"] = (
        IntakeDraft.objects.filter(ticket__isnull=True)
        .select_related("customer", "started_by")
        .order_by("-changed_at")[:MOST_DRAFTS]
    )
    facts["due_today"] = _due_today()
    return render(request, "counter/customers/desk.html", facts)


def _due_today() -> list[tuple[Ticket, CustomerStanding]]:
    """Tickets promised for today that are still in the shop, earliest promise first."""
    now = timezone.now()
    due = (
        Ticket.objects.filter(promise_day=business_day(now), closed_at__isnull=True)
        .select_related("customer")
        .prefetch_related("pieces__rack_place")
        .order_by("promised_at", "number")[:MOST_DUE]
    )
    return [(ticket, customer_standing(ticket, now)) for ticket in due]


@require_http_methods(["GET", "HEAD", "POST"])
def customer_new(request: HttpRequest) -> HttpResponse:
    """A new customer. The form's one-time key and a search for twins keep it from being two."""
    made = request.session.get(_MADE, {})
    once = request.POST.get("once", "")
    if once and once in made:
        return redirect("customer", pk=made[once])
    form = CustomerForm(
        request.POST or None, initial=_carried(request.GET.get("q", "")), label_suffix=""
    )
    twins: list[Customer] = []
    if request.method == "POST" and form.is_valid():
        twins = [] if request.POST.get("anyway") else _twins(form)
        if not twins and (customer := _saved(form, Customer())):
            request.session[_MADE] = {**dict(list(made.items())[-20:]), once: customer.pk}
            messages.success(request, _("Saved. Read the number back to the customer."))
            return redirect("customer", pk=customer.pk)
    status = 422 if request.method == "POST" else 200
    facts = {"form": form, "twins": twins, "once": once or uuid.uuid4().hex, "room": "desk"}
    return render(request, "counter/customers/customer_new.html", facts, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """One customer: read-back, tickets, changes, and the way into an intake."""
    person = get_object_or_404(Customer, pk=pk)
    form = CustomerForm(request.POST or None, instance=person, label_suffix="")
    status = 200
    if request.method == "POST":
        if form.is_valid() and _saved(form, person):
            messages.success(request, _("Saved. Read the number back to the customer."))
            return redirect("customer", pk=pk)
        status = 422
    now = timezone.now()
    tickets = person.tickets.prefetch_related("pieces__rack_place").order_by("-opened_at", "-pk")
    facts = {
        "person": Customer.objects.get(pk=pk),
        "form": form,
        "tickets": [(ticket, customer_standing(ticket, now)) for ticket in tickets[:MOST_TICKETS]],
        "draft": person.drafts.filter(ticket__isnull=True).first(),
        "came_before": garments_of(person),
        "wishes": wording.wish_words(person),
        "room": "desk",
    }
    return render(request, "counter/customers/customer.html", facts, status=status)


def _carried(query: str) -> dict[str, str]:
    """What was searched for, put in the field it belongs to."""
    words = " ".join(query.split())[:80]
    if not words:
        return {}
    return {"name": words} if re.search(r"[^\W\d_]", words) else {"phone": words}


def _twins(form: CustomerForm) -> list[Customer]:
    """Customers with the same phone, or with exactly the same words in their name."""
    name = words_of(form.cleaned_data["name"])
    try:
        phone = parse_phone(form.cleaned_data["phone"], Shop.current().country)
    except Refused:
        return []
    same_phone = list(Customer.objects.filter(phone=phone)[:5]) if phone else []
    same_name = [
        each
        for each in find_customers(" ".join(name))
        if sorted(words_of(each.name)) == sorted(name) and each not in same_phone
    ]
    return [*same_phone, *same_name]


def _saved(form: CustomerForm, customer: Customer) -> Customer | None:
    for field in (name for name in WRITTEN_FIELDS if name != "phone"):
        setattr(customer, field, form.cleaned_data[field])
    try:
        return save_customer(
            customer, phone=form.cleaned_data["phone"], region=Shop.current().country
        )
    except Refused as refusal:
        form.add_error("phone" if refusal.code == "bad_phone" else "name", str(refusal))
        return None
