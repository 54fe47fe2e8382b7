"""Finding a ticket and handing its pieces over."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from counter.customers.standing import customer_standing
from counter.messages import views
from counter.money.queries import balance
from counter.pickup import services as door
from counter.pickup import wording
from counter.pickup.forms import FindForm, HandOverForm, ScanOutForm
from counter.pickup.pickup_steps import pickup_steps
from counter.pickup.queries import (
    CountedOut,
    counted_out,
    find,
    pickups_done,
    pickups_under_way,
    pieces_out,
)
from tickets import numbers
from tickets.acting import AT_THE_COUNTER, Act, act_of
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.scanning.box import ScanBox
from tickets.scanning.results import BAD, GOOD, Pending, Scanned
from tickets.shop.calendar import business_day
from tickets.tracking import queries
from tickets.tracking.views import ticket_or_404

MOST_UNDER_WAY = 8


@require_GET
def pickup_find(request: HttpRequest) -> HttpResponse:
    """One box for everything a customer may hold or say; one hit opens at once."""
    form = FindForm(request.GET or None)
    query = form.cleaned_data["q"] if form.is_valid() else ""
    act = act_of(request, AT_THE_COUNTER)
    matches, now = find(query, act), act.at
    if matches.only is not None:
        return redirect("pickup", number=matches.only.number)
    context = {
        "room": "pickup",
        "form": form if request.GET else FindForm(),
        "query": query,
        "found": matches,
        "found_rows": [(ticket, customer_standing(ticket, now)) for ticket in matches.tickets],
        "today": business_day(now),
        "under_way": pickups_under_way(MOST_UNDER_WAY),
    }
    template = "counter/pickup/_found.html" if request.htmx else "counter/pickup/find.html"  # type: ignore[attr-defined]
    return render(request, template, context)


@require_GET
def pickup(request: HttpRequest, number: int) -> HttpResponse:
    return _page(request, ticket_or_404(number))


@require_POST
def pickup_scan(request: HttpRequest, number: int) -> HttpResponse:
    """Scan or tap a piece out. A fragment for the script, the whole page without it."""
    ticket = ticket_or_404(number)
    box = _box(request, number)

    def do(line: str, _key: str, _pending: Pending | None) -> Scanned:
        return _scan_out(number, line, act_of(request, AT_THE_COUNTER))

    box.take(request.POST, do)
    return _after_scan(request, ticket, box)


def _scan_out(number: int, line: str, act: Act) -> Scanned:
    try:
        scanned = door.scan(number, line, act)
    except Refused as no:
        return Scanned(BAD, no.says, no.cure, code=no.code, kind=no.kind)
    return Scanned(GOOD, wording.counted_piece(scanned.piece, before=scanned.repeated))


@require_POST
def pickup_unscan(request: HttpRequest, number: int) -> HttpResponse:
    ticket = ticket_or_404(number)
    box = _box(request, number)
    try:
        piece = door.unscan(number, request.POST.get("code", ""))
    except Refused as no:
        box.keep(Scanned(BAD, no.says, no.cure, code=no.code, kind=no.kind), key="")
    else:
        box.keep(Scanned(GOOD, wording.stays_here(piece)), key="")
    return _after_scan(request, ticket, box)


@require_POST
def pickup_done(request: HttpRequest, number: int) -> HttpResponse:
    """Hand over what is scanned. Sent twice, it hands over once and shows the same page."""
    ticket = ticket_or_404(number)
    form = HandOverForm(request.POST)
    if not form.is_valid():
        return _page(request, ticket, form, status=422)
    data = form.cleaned_data
    try:
        done = door.hand_over(
            data["pickup_id"],
            form.collector(ticket.customer.name),
            data["proof"],
            act_of(request, AT_THE_COUNTER),
            owed_reason=data["owed_reason"],
            part_of=data["part_of"] or 0,
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return _page(request, ticket, form, status=422)
    messages.success(request, wording.handed_to(done.collector, pieces_out(done)))
    return _box(request, number).forgotten_in(redirect("pickup", number=number))


def _after_scan(request: HttpRequest, ticket: Ticket, box: ScanBox) -> HttpResponse:
    if not request.htmx:  # type: ignore[attr-defined]
        return box.kept_in(redirect(f"{box.page}#{box.form['line'].id_for_label}"))
    context = {**_context(request, ticket, HandOverForm()), "box": box}
    return box.kept_in(render(request, "counter/pickup/_scanned.html", context))


def _box(request: HttpRequest, number: int) -> ScanBox:
    return ScanBox(
        request,
        f"pickup-{number}",
        page=reverse("pickup", args=[number]),
        scan=reverse("pickup_scan", args=[number]),
        form=ScanOutForm,
    )


def _page(
    request: HttpRequest, ticket: Ticket, form: HandOverForm | None = None, status: int = 200
) -> HttpResponse:
    context = _context(request, ticket, form or HandOverForm())
    return render(request, "counter/pickup/pickup.html", context, status=status)


def _context(request: HttpRequest, ticket: Ticket, form: HandOverForm) -> dict[str, object]:
    now, account = counted_out(ticket), balance(ticket)
    return {
        "room": "pickup",
        "ticket": ticket,
        "now": now,
        "rows": _rows(now),
        "steps": pickup_steps(now, account.to_pay),
        "late": ticket.promised_at < timezone.now(),
        "box": _box(request, ticket.number),
        "form": form,
        "balance": account,
        "pickups": pickups_done(ticket),
        "spoken": numbers.TicketCode(ticket.number).spoken,
    }


def _rows(now: CountedOut) -> list[dict[str, object]]:
    """The open pieces in the order of the ticket, each with how it stands: on the counter, ready
    or missing; a missing one with where it was seen last and the question it waits for."""
    stands = {piece.pk: "out" for piece in now.scanned} | {piece.pk: "ready" for piece in now.ready}
    pieces = sorted([*now.scanned, *now.staying], key=lambda piece: piece.position)
    seen = queries.last_moves(now.missing)
    return [
        {
            "piece": piece,
            "stands": stands.get(piece.pk, "missing"),
            "seen": seen.get(piece.pk),
            "hold": next((hold for hold in piece.holds.all() if hold.ended_at is None), None),
        }
        for piece in pieces
    ]


urlpatterns = [
    path("pickup/", pickup_find, name="pickup_find"),
    path("pickup/<int:number>/", pickup, name="pickup"),
    path("pickup/<int:number>/scan/", pickup_scan, name="pickup_scan"),
    path("pickup/<int:number>/unscan/", pickup_unscan, name="pickup_unscan"),
    path("pickup/<int:number>/done/", pickup_done, name="pickup_done"),
    *views.urlpatterns,
]
