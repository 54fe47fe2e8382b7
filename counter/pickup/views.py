"""Finding a ticket and handing its pieces over."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from counter.messages import views
from counter.models import Pickup
from counter.money import services as payments
from counter.money import views as money
from counter.pickup import services as door
from counter.pickup.forms import FindForm, HandOverForm
from tickets import numbers
from tickets.acting import AT_THE_COUNTER, act_of
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.tracking import queries
from tickets.tracking.views import ticket_or_404

RESULTS_SHOWN = 5
_RESULTS = "pickup_results"


@dataclass(frozen=True)
class _Result:
    good: bool
    text: str
    cure: str = ""


@require_GET
def pickup_find(request: HttpRequest) -> HttpResponse:
    """One box for everything a customer may hold or say; one hit opens at once."""
    form = FindForm(request.GET or None)
    query = form.cleaned_data["q"] if form.is_valid() else ""
    found = door.find(query, act_of(request, AT_THE_COUNTER))
    if found.only is not None:
        return redirect("pickup", number=found.only.number)
    under_way = Pickup.objects.filter(done_at__isnull=True, scanned__isnull=False).distinct()
    context = {
        "room": "pickup",
        "form": form if request.GET else FindForm(),
        "query": query,
        "found": found,
        "under_way": under_way.select_related("ticket__customer", "started_by")[:8],
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
    code = request.POST.get("code", "")
    try:
        scanned = door.scan(number, code, act_of(request, AT_THE_COUNTER))
    except Refused as refusal:
        result = _Result(False, refusal.says, refusal.cure)
    else:
        words = _("%(piece)s was scanned before") if scanned.repeated else _("%(piece)s goes out")
        result = _Result(True, words % {"piece": scanned.piece.spoken})
    return _after_scan(request, ticket, result)


@require_POST
def pickup_unscan(request: HttpRequest, number: int) -> HttpResponse:
    ticket = ticket_or_404(number)
    try:
        piece = door.unscan(number, request.POST.get("code", ""))
    except Refused as refusal:
        result = _Result(False, refusal.says, refusal.cure)
    else:
        result = _Result(True, _("%(piece)s stays here") % {"piece": piece.spoken})
    return _after_scan(request, ticket, result)


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
    count = done.scanned.count()
    request.session.pop(_RESULTS, None)
    messages.success(
        request,
        ngettext(
            "%(count)d piece handed to %(name)s.", "%(count)d pieces handed to %(name)s.", count
        )
        % {"count": count, "name": done.collector},
    )
    return redirect("pickup", number=number)


def _after_scan(request: HttpRequest, ticket: Ticket, result: _Result) -> HttpResponse:
    kept = request.session.get(_RESULTS, {})
    earlier = kept.get("list", []) if kept.get("ticket") == ticket.number else []
    shown = [[result.good, result.text, result.cure], *earlier][:RESULTS_SHOWN]
    request.session[_RESULTS] = {"ticket": ticket.number, "list": shown}
    if request.htmx:  # type: ignore[attr-defined]
        context = _context(request, ticket, HandOverForm())
        return render(request, "counter/pickup/_scanned.html", context)
    return redirect(f"{reverse('pickup', args=[ticket.number])}#scan-code")


def _page(
    request: HttpRequest, ticket: Ticket, form: HandOverForm | None = None, status: int = 200
) -> HttpResponse:
    context = _context(request, ticket, form or HandOverForm())
    return render(request, "counter/pickup/pickup.html", context, status=status)


def _context(request: HttpRequest, ticket: Ticket, form: HandOverForm) -> dict[str, object]:
    now = door.standing(ticket)
    seen = queries.last_moves(now.missing)
    kept = request.session.get(_RESULTS, {})
    results = kept.get("list", []) if kept.get("ticket") == ticket.number else []
    return {
        "room": "pickup",
        "ticket": ticket,
        "now": now,
        "missing": [
            {
                "piece": piece,
                "seen": seen.get(piece.pk),
                "hold": next((h for h in piece.holds.all() if h.ended_at is None), None),
            }
            for piece in now.missing
        ],
        "late": ticket.promised_at < timezone.now(),
        "results": [_Result(*entry) for entry in results],
        "form": form,
        "balance": payments.balance(ticket),
        "pickups": ticket.pickups.filter(done_at__isnull=False)
        .select_related("done_by")
        .prefetch_related("scanned__piece"),
        "spoken": numbers.TicketCode(ticket.number).spoken,
    }


urlpatterns = [
    path("pickup/", pickup_find, name="pickup_find"),
    path("pickup/<int:number>/", pickup, name="pickup"),
    path("pickup/<int:number>/scan/", pickup_scan, name="pickup_scan"),
    path("pickup/<int:number>/unscan/", pickup_unscan, name="pickup_unscan"),
    path("pickup/<int:number>/done/", pickup_done, name="pickup_done"),
    *money.urlpatterns,
    *views.urlpatterns,
]
