"""Station boards and their scan boxes."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from tickets import queries, scanning, shopface, tracking, wording
from tickets.choices import BOARD_STATIONS, Station
from tickets.errors import Refused
from tickets.forms import CompleteForm, ScanForm
from tickets.models import Piece
from tickets.numbers import NumberError, PieceCode, parse_code
from tickets.scanning import Pending, Scanned
from tickets.views.common import act_of, safe_next
from tickets.worktags import WorkTag, work_tags

SHOWN_AT_ONCE = 24
MOST_SHOWN = 600
LAST_RESULTS = 5
_SESSION = "scan_boxes"
_SHARED = (Station.ASSEMBLY, Station.RACK)


@never_cache
@require_safe
def boards(request: HttpRequest) -> HttpResponse:
    """All stations in route order. ``?find=`` opens the page of a scanned piece or ticket."""
    fault = ""
    if line := request.GET.get("find", "").strip():
        try:
            return redirect(_page_of(line))
        except NumberError as no:
            fault = str(no)
    now = timezone.now()
    counts = queries.station_counts(now)
    queue = queries.Queue(now)
    rows = [
        {
            "count": count,
            "piece": count.first,
            "kind": wording.kind_name(count.first.kind) if count.first else "",
            "urgency": queue.urgency(count.first) if count.first else "",
            "promise": wording.promise_words(count.first.promised_at, now) if count.first else "",
        }
        for count in counts
    ]
    context = {"rows": rows, "room": "boards", "fault": fault, "line": line}
    return render(request, "tickets/boards.html", context)


def _page_of(line: str) -> str:
    code = parse_code(line)
    if isinstance(code, PieceCode):
        return reverse("tickets:piece", args=[code.digits])
    return reverse("tickets:ticket", args=[code.ticket])


@never_cache
@require_safe
def board(request: HttpRequest, station: str) -> HttpResponse:
    """One station. An htmx request gets the lists alone."""
    context = _board(request, _station(station))
    name = "tickets/_live.html" if request.headers.get("HX-Request") else "tickets/board.html"
    return render(request, name, context)


@never_cache
@require_POST
def scan(request: HttpRequest, station: str) -> HttpResponse:
    """One line of the scan box. A repeated key shows the first result again."""
    here = _station(station)
    box = _Box(request, here)
    form = ScanForm(request.POST)
    if not form.is_valid():
        box.keep(_unreadable(form, box), key="")
    elif not box.knows(form.once):
        result = scanning.scan(
            here, form.cleaned_data["line"], act_of(request, form.once), box.pending
        )
        box.keep(result, key=form.once)
        if result.go_to:
            return _go(request, result.go_to)
    if request.headers.get("HX-Request"):
        return render(
            request, "tickets/_live.html", {**_board(request, here), "with_results": True}
        )
    return redirect("tickets:board", station)


def _unreadable(form: ScanForm, box: _Box) -> Scanned:
    line = str(form.data.get("line", ""))[:60]
    if "key" in form.errors:
        says = _("%(line)s: the form came back without its one-time key.") % {"line": line or "–"}
        return Scanned(scanning.BAD, says, _("Scan it once more."), pending=box.pending)
    says = _("%(line)s … is longer than 60 characters.") % {"line": line}
    return Scanned(
        scanning.BAD, says, _("Scan a tag, or type its figures."), pending=box.pending
    )


def _go(request: HttpRequest, station: str) -> HttpResponse:
    target = reverse("tickets:board", args=[station])
    if request.headers.get("HX-Request"):
        return HttpResponse(headers={"HX-Redirect": target})
    return redirect(target)


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
            number, act_of(request, form.once), form.cleaned_data["part_reason"]
        )
    except Refused as no:
        messages.error(request, str(no))
    else:
        messages.success(
            request,
            _("Ticket %(ticket)s: %(count)d pieces go to the rack.")
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


def _board(request: HttpRequest, station: Station) -> dict[str, Any]:
    now = timezone.now()
    shown = max(_shown(request), SHOWN_AT_ONCE)
    face, queue = shopface.current(), queries.Queue(now)
    waiting, held = queries.waiting_at(station), queries.held_at(station)
    total = waiting.count()

    def tags(pieces: QuerySet[Piece]) -> list[WorkTag]:
        chosen = queries.with_everything(pieces)
        if station in _SHARED:
            chosen = queries.with_siblings(chosen)
        return work_tags(chosen, now, queue, fahrenheit=face.fahrenheit)

    tags_here = tags(waiting[:shown])
    box = _Box(request, station)
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
    }


class _Box:
    """The scan box of one station in one session: what it waits for and its last results."""

    def __init__(self, request: HttpRequest, station: Station) -> None:
        self._session = request.session
        self._station = station.value
        stored = self._session.get(_SESSION, {}).get(self._station, {})
        self.results: list[dict[str, Any]] = stored.get("results", [])
        self.pending = Pending.from_json(stored.get("pending"), timezone.now())

    def knows(self, key: str) -> bool:
        return any(result["key"] == key for result in self.results)

    def keep(self, result: Scanned, key: str) -> None:
        entry = {
            "tone": result.tone,
            "says": result.says,
            "cure": result.cure,
            "piece": result.piece,
            "ticket": result.ticket,
            "key": key,
            "at": timezone.localtime().strftime("%H:%M:%S"),
        }
        self.results = [entry, *self.results][:LAST_RESULTS]
        self.pending = result.pending
        boxes = self._session.get(_SESSION, {})
        boxes[self._station] = {
            "results": self.results,
            "pending": self.pending.as_json() if self.pending else None,
        }
        self._session[_SESSION] = boxes


urlpatterns = [
    path("boards/", boards, name="boards"),
    path("boards/<slug:station>/", board, name="board"),
    path("boards/<slug:station>/scan/", scan, name="scan"),
    path("boards/assembly/complete/<int:number>/", complete, name="complete"),
]
