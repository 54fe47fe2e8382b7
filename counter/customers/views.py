"""The counter's start: who is it, is it ready, and the customer's page."""

from __future__ import annotations

import re
import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from counter.customers import queries
from counter.customers.desk_groups import due_groups
from counter.customers.forms import CustomerForm
from counter.customers.queries import look_up, twins_of
from counter.customers.standing import customer_standing
from counter.customers.wording import customer_saved
from counter.models import Shop
from counter.site.trouble import here_or_404
from tickets import wording
from tickets.errors import Refused
from tickets.garments.customers import WRITTEN_FIELDS, parse_phone, words_of
from tickets.garments.queries import find_customers, garments_of
from tickets.garments.services import save_customer
from tickets.models import Customer
from tickets.promise.urgency import outlook_at
from tickets.shop.calendar import business_day

MOST_DRAFTS = 20
MOST_DUE = 30
MOST_TICKETS = 30
MOST_TWINS = 5
_MADE = "customers_made"


@require_safe
def desk(request: HttpRequest) -> HttpResponse:
    """Search box with results; a plain page without script, a fragment for htmx."""
    query = " ".join(request.GET.get("q", "").split())[:80]
    customers = look_up(query, timezone.now()) if query else []
    facts = {
        "query": query,
        "found": customers,
        "twins": twins_of([entry.customer for entry in customers]),
        "today": business_day(timezone.now()),
        "room": "desk",
    }
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "counter/customers/_found.html", facts)
    if not query:
        facts["drafts"] = queries.drafts_under_way(MOST_DRAFTS)
        facts |= _promised()
    return render(request, "counter/customers/desk.html", facts)


def _promised() -> dict[str, object]:
    """What is late, at risk and promised for today; where nothing is, the next promise."""
    now = timezone.now()
    late = queries.not_ready_in_time(now)
    today = queries.due_today(now)[:MOST_DUE]
    groups = due_groups(late[:MOST_DUE], late.count(), today, outlook_at(now), now)
    return {"due": groups} if groups else {"due": [], "next_promise": queries.next_promise(now)}


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
            messages.success(request, customer_saved())
            return redirect("customer", pk=customer.pk)
    status = 422 if request.method == "POST" else 200
    facts = {"form": form, "twins": twins, "once": once or uuid.uuid4().hex, "room": "desk"}
    return render(request, "counter/customers/customer_new.html", facts, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """One customer: read-back, tickets, changes, and the way into an intake."""
    person = here_or_404(queries.customer_with(pk))
    form = CustomerForm(request.POST or None, instance=person, label_suffix="")
    status = 200
    if request.method == "POST":
        if form.is_valid() and _saved(form, person):
            messages.success(request, customer_saved())
            return redirect("customer", pk=pk)
        status = 422
    now = timezone.now()
    tickets = queries.tickets_of(person, MOST_TICKETS)
    debts = queries.debts_of(person)
    facts = {
        "person": queries.customer_with(pk),
        "form": form,
        "tickets": [(ticket, customer_standing(ticket, now)) for ticket in tickets],
        "draft": queries.draft_of(person),
        "debts": debts,
        "owed_minor": sum(debt.owed_minor for debt in debts),
        "today": business_day(now),
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
    same_phone = queries.with_phone(phone, MOST_TWINS)
    same_name = [
        customer
        for customer in find_customers(" ".join(name))
        if sorted(words_of(customer.name)) == sorted(name) and customer not in same_phone
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
