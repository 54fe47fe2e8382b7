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
from tickets.boards import queries
from tickets.boards.board_scans import scan as scan_at
from tickets.boards.forms import CompleteForm
from tickets.boards.work_tags import WorkTag, work_tags
from tickets.choices import BOARD_STATIONS, Station
from tickets.errors import Refused
from tickets.models import Piece
from tickets.numbers import NumberError, PieceCode
from tickets.promise.urgency import urgency_at, urgency_by
from tickets.scanning import lines
from tickets.scanning.box import ScanBox, go
from tickets.scanning.results import TO_LOADS, Pending, Scanned, station_card
from tickets.shop.face import shop_face
from tickets.shop.machines import LOAD_STATIONS
from tickets.shop.queries import places_now
from tickets.tracking import queries as tracked
from tickets.tracking import services as tracking

SHOWN_AT_ONCE = 24
MOST_SHOWN = 600


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


def _page_of(text: str) -> str:
    line = lines.read_line(text)
    if isinstance(line, lines.StationScan):
        return reverse("tickets:board", args=[station_card(line).go_to])
    code = lines.number_of(line)
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
    """One line of the scan box. A repeated key shows the first result again.

    An htmx request gets the result, the counts, and the cards that look otherwise now.
    """
    here = _station(station)
    box = _box(request, here)

    def do(line: str, key: str, pending: Pending | None) -> Scanned:
        return scan_at(here, line, act_of(request, BACK_ROOM, key), pending)

    result = box.take(request.POST, do)
    if result is not None and result.go_to:
        return box.kept_in(go(request, _address(here, result)))
    if request.headers.get("HX-Request"):
        page = render(request, "tickets/boards/_scanned.html", _scanned(box, here, result))
        return box.kept_in(page)
    return box.kept_in(redirect("tickets:board", station))


def _address(here: Station, result: Scanned) -> str:
    if result.go_to == TO_LOADS:
        return reverse("tickets:loads", args=[here])
    return reverse("tickets:board", args=[result.go_to])


def _scanned(box: ScanBox, station: Station, result: Scanned | None) -> dict[str, object]:
    """What a scan changed on the page. No forecast is made for it: until the board refreshes, a
    changed card is late or due."""
    now = timezone.now()
    codes = list(result.touched) if result else []
    if result and result.ticket and station == Station.ASSEMBLY:
        codes = list(dict.fromkeys([*codes, *queries.codes_of_ticket(result.ticket)]))
    left = result.moved.code if result and result.moved and result.moved.station != station else ""
    staying = [code for code in codes if code != left]
    pieces = queries.on_board(station, staying) if staying else []
    tags = []
    if pieces:
        plain = urgency_by(None, now)
        tags = work_tags(pieces, now, plain, fahrenheit=shop_face().fahrenheit)
    shown = {piece.code for piece in pieces}
    return {
        "box": box,
        "station": station,
        "tally": queries.tally_of(station, now),
        "tags": tags,
        "gone": [code for code in codes if code not in shown],
        "scan_form": box.form,
        "complete_form": CompleteForm(),
    }


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


def _box(request: HttpRequest, station: Station) -> ScanBox:
    page = reverse("tickets:board", args=[station])
    return ScanBox(request, station, page=page, scan=reverse("tickets:scan", args=[station]))


def _shown(request: HttpRequest) -> int:
    asked = request.GET.get("show") or ""
    return min(int(asked), MOST_SHOWN) if asked.isdecimal() else SHOWN_AT_ONCE


def _board(request: HttpRequest, station: Station) -> dict[str, object]:
    now = timezone.now()
    shown = max(_shown(request), SHOWN_AT_ONCE)
    face, urgency = shop_face(), urgency_at(now)
    tally = queries.tally_of(station, now)

    def tags(pieces: QuerySet[Piece]) -> list[WorkTag]:
        with_card = queries.with_card(pieces, station)
        return work_tags(with_card, now, urgency, fahrenheit=face.fahrenheit)

    box = _box(request, station)
    return {
        "station": station,
        "room": "boards",
        "tags": tags(queries.waiting_at(station, now)[:shown]),
        "held": tags(tracked.held_at(station)),
        "tally": tally,
        "shown": shown,
        "show_next": shown + SHOWN_AT_ONCE if tally.total > shown else 0,
        "hidden": max(0, tally.total - shown),
        "today": timezone.localdate(now),
        "box": box,
        "scan_form": box.form,
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
