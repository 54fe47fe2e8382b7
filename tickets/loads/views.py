"""Loads and bags of a station: what to run now, what runs, and one load with its scan box."""

from __future__ import annotations

import math
import uuid
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from tickets import wording
from tickets.acting import BACK_ROOM, act_of
from tickets.choices import BOARD_STATIONS, Station
from tickets.errors import Refused
from tickets.loads import bags, load_scans, proposals, queries
from tickets.loads import services as loadbook
from tickets.loads import wording as loadwords
from tickets.loads.estimates import running_cost
from tickets.loads.forms import OpenLoadForm
from tickets.loads.planned_pieces import load_piece, still_planned
from tickets.loads.together import steps_together
from tickets.loads.wording import answers, basis
from tickets.models import Load, Piece
from tickets.models.machines import IN_MACHINE, LeftHow, LoadState
from tickets.scanning.box import ScanBox, go
from tickets.scanning.results import TO_LOAD, TO_LOADS, Pending, Scanned
from tickets.shop import partners
from tickets.shop.face import Prices, ShopFace, shop_face
from tickets.shop.machines import LOAD_STATIONS, programme_facts
from tickets.tracking.forms import OnceForm
from tickets.tracking.wording import came_without_key

_LATER_SHOWN = 12

_WHOLE = (LoadState.FILLING, LoadState.CLOSED)
"""States in which no piece has left a load yet, nor can have been moved on by another scan."""


@never_cache
@require_safe
def loads(request: HttpRequest, station: str) -> HttpResponse:
    """Machines, open loads and proposals of a station. An htmx request gets the lists alone."""
    context = _loads(request, _station(station))
    name = "_loads_live" if request.headers.get("HX-Request") else "loads"
    return render(request, f"tickets/loads/{name}.html", context)


@never_cache
@require_POST
def loads_scan(request: HttpRequest, station: str) -> HttpResponse:
    """A tag scanned on the page of loads opens the proposed load that holds it."""
    here = _station(station)
    box = _loads_box(request, here)

    def do(line: str, key: str, _pending: Pending | None) -> Scanned:
        return load_scans.scan_loads(here, line, act_of(request, BACK_ROOM, key))

    result = box.take(request.POST, do)
    if result is not None and result.go_to:
        return box.kept_in(_follow(request, here, result, _key_of(request)))
    if request.headers.get("HX-Request"):
        page = render(request, "tickets/scanning/_results.html", {"box": box})
        return box.kept_in(page)
    return box.kept_in(redirect("tickets:loads", station))


@require_POST
def load_open(request: HttpRequest, station: str) -> HttpResponse:
    """Open a load from a proposal, or an empty one, and go to its page."""
    here, form = _station(station), OpenLoadForm(request.POST)
    if not form.is_valid():
        messages.error(request, answers.proposal_incomplete())
        return redirect("tickets:loads", station)
    try:
        open_it = loadbook.open_bag if here == Station.SEND_OUT else loadbook.open_load
        done = open_it(
            form.cleaned_data["machine"],
            form.cleaned_data["codes"].split(),
            act_of(request, BACK_ROOM, form.once),
        )
    except Refused as no:
        messages.error(request, str(no))
        return redirect("tickets:loads", station)
    return _follow(request, here, load_scans.opened(done), form.once)


@never_cache
@require_safe
def load(request: HttpRequest, pk: int) -> HttpResponse:
    """One load. An htmx request gets its lists alone."""
    context = _load(request, _load_or_404(pk))
    name = "_load_live" if request.headers.get("HX-Request") else "load"
    return render(request, f"tickets/loads/{name}.html", context)


@never_cache
@require_POST
def load_scan(request: HttpRequest, pk: int) -> HttpResponse:
    """One line at a load: a tag, CLOSE, START, FINISH, UNDO, yes or no."""
    row = _load_or_404(pk)
    box = _load_box(request, pk)

    def do(line: str, key: str, pending: Pending | None) -> Scanned:
        return load_scans.scan_load(pk, line, act_of(request, BACK_ROOM, key), pending)

    result = box.take(request.POST, do)
    if result is not None and result.go_to:
        return box.kept_in(_follow(request, Station(row.station), result, _key_of(request)))
    if request.headers.get("HX-Request"):
        context = {**_load(request, _load_or_404(pk)), "box": box}
        return box.kept_in(render(request, "tickets/loads/_load_scanned.html", context))
    return box.kept_in(redirect("tickets:load", pk))


@require_POST
def load_never_in(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """A piece that was counted in but was not in the drum."""
    row, form = _load_or_404(pk), OnceForm(request.POST)
    if not form.is_valid():
        messages.error(request, came_without_key())
        return redirect("tickets:load", row.pk)
    try:
        done = loadbook.never_in(pk, code, act_of(request, BACK_ROOM, form.once))
    except Refused as no:
        messages.error(request, str(no))
    else:
        spoken = done.event.piece.spoken if done.event.piece else ""
        messages.warning(request, answers.was_never_in(row, spoken))
    return redirect("tickets:load", pk)


def _station(name: str) -> Station:
    if name not in LOAD_STATIONS:
        raise Http404(_("No loads are made at %(name)s.") % {"name": name})
    return Station(name)


def _load_or_404(pk: int) -> Load:
    row = queries.load_by_number(pk)
    if row is None:
        raise Http404(_("There is no load %(load)d.") % {"load": pk})
    return row


def _loads_box(request: HttpRequest, station: Station) -> ScanBox:
    return ScanBox(
        request,
        f"loads-{station.value}",
        page=reverse("tickets:loads", args=[station]),
        scan=reverse("tickets:loads_scan", args=[station]),
    )


def _load_box(request: HttpRequest, pk: int) -> ScanBox:
    return ScanBox(
        request,
        f"load-{pk}",
        page=reverse("tickets:load", args=[pk]),
        scan=reverse("tickets:load_scan", args=[pk]),
    )


def _key_of(request: HttpRequest) -> str:
    return request.POST.get("key", "")


def _follow(request: HttpRequest, here: Station, result: Scanned, key: str) -> HttpResponse:
    """Go where a line leads; what it did to a load shows on the load's own page."""
    if result.go_to == TO_LOADS:
        return go(request, reverse("tickets:loads", args=[here]))
    if not result.go_to.startswith(TO_LOAD):
        return go(request, reverse("tickets:board", args=[result.go_to]))
    box = _load_box(request, int(result.go_to.removeprefix(TO_LOAD)))
    box.keep(replace(result, go_to=""), key)
    return box.kept_in(go(request, box.page))


def _loads(request: HttpRequest, station: Station) -> dict[str, object]:
    now = timezone.now()
    floor, face = proposals.floor(station, now), shop_face()
    priced = [(proposal, _cost(proposal, face.prices)) for proposal in floor.proposals]
    later = [(proposal, cost) for proposal, cost in priced if not proposal.now]
    promised = queries.first_promises(floor.loads)
    to_do = [machine.to_do for machine in floor.machines if machine.to_do]
    to_do.sort(key=lambda load: (load.state != LoadState.FINISHED, load.pk))
    return {
        "station": station,
        "room": "boards",
        "floor": floor,
        "now": [
            _shown(proposal, _written(cost, face), now) for proposal, cost in priced if proposal.now
        ],
        "later": [
            _shown(proposal, _written(cost, face), now) for proposal, cost in later[:_LATER_SHOWN]
        ],
        "more_later": max(0, len(later) - _LATER_SHOWN),
        "bags": [_bag_shown(bag, now) for bag in floor.bags],
        "loads": [
            {**_summary(load, now), "late": load.pk in promised and promised[load.pk] < now}
            for load in floor.loads
        ],
        "next_load": to_do[0].pk if to_do else None,
        "day": _day_sums(priced, face),
        "box": _loads_box(request, station),
        "stations": BOARD_STATIONS,
        "load_stations": LOAD_STATIONS,
    }


def _day_sums(
    priced: list[tuple[proposals.Proposal, Decimal | None]], face: ShopFace
) -> dict[str, object]:
    """Litres, kWh and money of all loads proposed; no money is told where any has none."""
    costs = [cost for _proposal, cost in priced if cost is not None]
    all_priced = bool(costs) and len(costs) == len(priced)
    return {
        "litres": sum(proposal.estimate.water_l for proposal, _cost in priced),
        "kwh": sum(proposal.estimate.energy_kwh for proposal, _cost in priced),
        "cost": _written(sum(costs, Decimal(0)) if all_priced else None, face),
    }


def _written(cost: Decimal | None, face: ShopFace) -> str:
    """The money as the shop writes it; empty where none is told."""
    return "" if cost is None else face.write_money(cost)


def _cost(proposal: proposals.Proposal, prices: Prices | None) -> Decimal | None:
    sums = proposal.estimate
    return running_cost(sums.water_l, sums.energy_kwh, proposal.machine, prices)


def _shown(proposal: proposals.Proposal, cost: str, now: datetime) -> dict[str, object]:
    first = proposal.pieces[0]
    return {
        "proposal": proposal,
        "cost": cost,
        "fill": loadwords.fill_words(proposal.fill_percent, proposal.grams),
        "key": str(uuid.uuid4()),
        "late": first.promised_at < now,
        "rows": [_row(piece, now) for piece in proposal.pieces],
    }


def _bag_shown(bag: bags.BagProposal, now: datetime) -> dict[str, object]:
    rows = [_row(piece, now) for piece in bag.pieces]
    fill = loadwords.fill_words(bag.fill_percent, bag.grams)
    return {"bag": bag, "fill": fill, "key": str(uuid.uuid4()), "rows": rows}


def _row(piece: Piece, now: datetime) -> dict[str, object]:
    kind = wording.kind_name(piece.kind)
    return {
        "piece": piece,
        "kind": kind,
        "look": wording.look_of(piece.description, kind),
        "promise": wording.promise_words(piece.promised_at, now),
        "late": piece.promised_at < now,
    }


def _summary(row: Load, now: datetime) -> dict[str, object]:
    left = 0
    if row.ends_at is not None:
        left = math.ceil((row.ends_at - now).total_seconds() / 60)
    return {
        "load": row,
        "left": max(0, left),
        "over": -min(0, left),
        "fill": loadwords.fill_words(row.fill_percent, row.grams),
    }


def _load(request: HttpRequest, row: Load) -> dict[str, object]:
    now = timezone.now()
    station = Station(row.station)
    pieces = queries.inside(row)
    steps: list[str] = []
    if row.is_bag:
        steps = partners.notes(pieces)
    elif row.state == LoadState.FILLING or row.state == LoadState.CLOSED:
        steps = _steps(pieces, station)
    gone = [left for left in queries.left_rows(row) if left.how]
    events = list(queries.events_of(row))
    cost = ""
    if row.machine is not None:
        litres, kwh = float(row.water_litres), float(row.energy_kwh)
        face = shop_face()
        cost = _written(running_cost(litres, kwh, row.machine, face.prices), face)
    return {
        **_summary(row, now),
        "station": station,
        "room": "boards",
        "state": LoadState(row.state),
        "is_open": row.state in (LoadState.FILLING, LoadState.CLOSED, *IN_MACHINE),
        "rows": [_row(piece, now) for piece in pieces],
        "steps": steps,
        "gone": [entry for entry in gone if entry.how != "off"],
        "thin": row.machine is not None
        and bool(pieces)
        and proposals.is_thin(row.fill_percent, row.machine),
        "title": loadwords.title(row),
        "missing": sum(entry.how == LeftHow.NEVER_IN for entry in gone),
        "cost": cost,
        "basis": _basis(row, pieces),
        "events": [(entry, loadwords.event_words(row, entry.kind)) for entry in events],
        "box": _load_box(request, row.pk),
        "stations": BOARD_STATIONS,
        "load_stations": LOAD_STATIONS,
    }


def _steps(pieces: list[Piece], station: Station) -> list[str]:
    """What to do with the pieces on the way in; first which of them may not go in any more."""
    try:
        for piece in pieces:
            load_piece(piece, station)
    except Refused as no:
        return [str(no)]
    return steps_together(still_planned(pieces, station))


def _basis(row: Load, pieces: list[Piece]) -> list[basis.Basis]:
    """What the estimates stand on, while all pieces of the load are in it."""
    if row.machine is None or row.programme is None or row.state not in _WHOLE:
        return []
    return basis.basis_of(
        still_planned(pieces, Station(row.station)),
        programme_facts(row.programme),
        row.machine,
        queries.shop_spin_g(),
    )


urlpatterns = [
    path("loads/<slug:station>/", loads, name="loads"),
    path("loads/<slug:station>/scan/", loads_scan, name="loads_scan"),
    path("loads/<slug:station>/open/", load_open, name="load_open"),
    path("load/<int:pk>/", load, name="load"),
    path("load/<int:pk>/scan/", load_scan, name="load_scan"),
    path("load/<int:pk>/never-in/<str:code>/", load_never_in, name="load_never_in"),
]
