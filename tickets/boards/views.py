"""Station boards and their scan boxes."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from tickets import wording
from tickets.acting import BACK_ROOM, act_of, safe_next
from tickets.boards.cards import WorkTag, work_tags
from tickets.boards.forms import CompleteForm
from tickets.choices import BOARD_STATIONS, Station
from tickets.errors import Refused
from tickets.models import Piece
from tickets.numbers import NumberError, PieceCode, parse_code
from tickets.promise.urgency import urgency_at
from tickets.scanning import lines
from tickets.scanning.box import ScanBox, go, stale, unreadable
from tickets.scanning.forms import ScanForm
from tickets.scanning.loads import LOADS
from tickets.shop import face as shopface
from tickets.shop.machines import LOAD_STATIONS
from tickets.shop.queries import places_now
from tickets.tracking import queries
from tickets.tracking import services as tracking

SHOWN_AT_ONCE = 24
MOST_SHOWN = 600
_SHARED = (Station.ASSEMBLY, Station.RACK)


@never_cache
@require_safe
def boards(request: HttpRequest) -> HttpResponse:
    """All stations in route order. ``?find=`` opens the page of a scanned piece or ticket, or
    the board of a scanned station card."""
    fault = ""
    if line := request.GET.get("find", "").strip():
        try:
            return redirect(_page_of(line))
        except (NumberError, Refused) as no:
            fault = str(no)
    now = timezone.now()
    counts = queries.station_counts(now)
    urgency = urgency_at(now)
    rows = [
        {
            "count": count,
            "piece": count.first,
            "kind": wording.kind_name(count.first.kind) if count.first else "",
            "urgency": urgency(count.first) if count.first else "",
            "promise": wording.promise_words(count.first.promised_at, now) if count.first else "",
        }
        for count in counts
    ]
    context = {"rows": rows, "room": "boards", "fault": fault, "line": line}
    return render(request, "tickets/boards/boards.html", context)


def _page_of(line: str) -> str:
    plain = lines.plain_line(line)
    if plain.startswith(lines.STATION_PREFIX):
        card = lines.station_card(plain.removeprefix(lines.STATION_PREFIX))
        return reverse("tickets:board", args=[card.go_to])
    code = parse_code(line)
    if isinstance(code, PieceCode):
        return reverse("tickets:piece", args=[code.digits])
    return reverse("tickets:ticket", args=[code.ticket])


@never_cache
@require_safe
def board(request: HttpRequest, station: str) -> HttpResponse:
    """One station. An htmx request gets the lists alone."""
    context = _board(request, _station(station))
    name = "_live.html" if request.headers.get("HX-Request") else "board.html"
    return render(request, f"tickets/boards/{name}", context)


@never_cache
@require_POST
def scan(request: HttpRequest, station: str) -> HttpResponse:
    """One line of the scan box. A repeated key shows the first result again."""
    here = _station(station)
    box = ScanBox(request, here)
    form = ScanForm(request.POST)
    if not form.is_valid():
        box.keep(unreadable(form, box), key="")
    elif here in LOAD_STATIONS and lines.plain_line(form.cleaned_data["line"]) == LOADS:
        return go(request, reverse("tickets:loads", args=[here]))
    elif box.knows(form.once):
        pass
    elif box.asked_before(request.POST.get("about", "")):
        box.keep(stale(box), key=form.once)
    else:
        result = lines.scan(
            here, form.cleaned_data["line"], act_of(request, BACK_ROOM, form.once), box.pending
        )
        box.keep(result, key=form.once)
        if result.go_to:
            return go(request, reverse("tickets:board", args=[result.go_to]))
    if request.headers.get("HX-Request"):
        return render(
            request, "tickets/boards/_live.html", {**_board(request, here), "with_results": True}
        )
    return redirect("tickets:board", station)


@require_POST
def complete(request: HttpRequest, number: int) -> HttpResponse:
    """Send a matched ticket to the rack, or with a reason the part of it that is there."""
    form = CompleteForm(request.POST)
    target = safe_next(request, reverse("tickets:board", args=[Station.ASSEMBLY]))
    if not form.is_valid():
        messages.error(request, _("The form came back without its key. Try once more."))
        return redirect(target)
    try:
        moved = tracking.complete_ticket(
            number, act_of(request, BACK_ROOM, form.once), form.cleaned_data["part_reason"]
        )
    except Refused as no:
        messages.error(request, str(no))
    else:
        messages.success(
            request,
            ngettext(
                "Ticket %(ticket)s: %(count)d piece goes to the rack.",
                "Ticket %(ticket)s: %(count)d pieces go to the rack.",
                len(moved),
            )
            % {"ticket": number, "count": len(moved)},
        )
    return redirect(target)


def _station(name: str) -> Station:
    if name not in BOARD_STATIONS:
        raise Http404(_("No board is called %(name)s.") % {"name": name})
    return Station(name)


def _shown(request: HttpRequest) -> int:
    asked = request.GET.get("show") or request.POST.get("show") or ""
    return min(int(asked), MOST_SHOWN) if asked.isdecimal() else SHOWN_AT_ONCE


def _board(request: HttpRequest, station: Station) -> dict[str, object]:
    now = timezone.now()
    shown = max(_shown(request), SHOWN_AT_ONCE)
    face, urgency = shopface.current(), urgency_at(now)
    waiting, held = queries.waiting_at(station), queries.held_at(station)
    total = waiting.count()

    def tags(pieces: QuerySet[Piece]) -> list[WorkTag]:
        chosen = queries.with_open_load(queries.with_everything(pieces))
        if station in _SHARED:
            chosen = queries.with_siblings(chosen)
        return work_tags(chosen, now, urgency, fahrenheit=face.fahrenheit)

    tags_here = tags(waiting[:shown])
    box = ScanBox(request, station)
    return {
        "station": station,
        "room": "boards",
        "tags": tags_here,
        "held": tags(held),
        "total": total,
        "late": waiting.filter(promised_at__lt=now).count(),
        "shown": shown,
        "show_next": shown + SHOWN_AT_ONCE if total > shown else 0,
        "hidden": max(0, total - shown),
        "today": timezone.localdate(now),
        "results": box.results,
        "pending": box.pending,
        "scan_form": ScanForm(),
        "complete_form": CompleteForm(),
        "stations": BOARD_STATIONS,
        "has_loads": station in LOAD_STATIONS,
        "places": places_now(now) if station == Station.DRY else [],
    }


urlpatterns = [
    path("boards/", boards, name="boards"),
    path("boards/<slug:station>/", board, name="board"),
    path("boards/<slug:station>/scan/", scan, name="scan"),
    path("boards/assembly/complete/<int:number>/", complete, name="complete"),
]
