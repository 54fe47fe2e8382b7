"""Finding a ticket and handing its pieces over."""

from __future__ import annotations

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
from counter.money.queries import balance
from counter.pickup import services as door
from counter.pickup.forms import FindForm, HandOverForm, ScanOutForm
from counter.pickup.queries import counted_out, find
from tickets import numbers
from tickets.acting import AT_THE_COUNTER, Act, act_of
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.scanning.box import ScanBox
from tickets.scanning.results import BAD, GOOD, Pending, Scanned
from tickets.tracking import queries
from tickets.tracking.views import ticket_or_404


@require_GET
def pickup_find(request: HttpRequest) -> HttpResponse:
    """One box for everything a customer may hold or say; one hit opens at once."""
    form = FindForm(request.GET or None)
    query = form.cleaned_data["q"] if form.is_valid() else ""
    found = find(query, act_of(request, AT_THE_COUNTER))
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
    words = _("%(piece)s was scanned before") if scanned.repeated else _("%(piece)s goes out")
    return Scanned(GOOD, words % {"piece": scanned.piece.spoken})


@require_POST
def pickup_unscan(request: HttpRequest, number: int) -> HttpResponse:
    ticket = ticket_or_404(number)
    box = _box(request, number)
    try:
        piece = door.unscan(number, request.POST.get("code", ""))
    except Refused as no:
        box.keep(Scanned(BAD, no.says, no.cure, code=no.code, kind=no.kind), key="")
    else:
        stays = _("%(piece)s stays here") % {"piece": piece.spoken}
        box.keep(Scanned(GOOD, stays), key="")
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
    count = done.scanned.count()
    messages.success(
        request,
        ngettext(
            "%(count)d piece handed to %(name)s.", "%(count)d pieces handed to %(name)s.", count
        )
        % {"count": count, "name": done.collector},
    )
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
    now = counted_out(ticket)
    seen = queries.last_moves(now.missing)
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
        "box": _box(request, ticket.number),
        "form": form,
        "balance": balance(ticket),
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
    *views.urlpatterns,
]
