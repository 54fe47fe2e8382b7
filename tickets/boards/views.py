"""Station boards and their scan boxes."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from tickets import wording
from tickets.acting import BACK_ROOM, act_of, safe_next
from tickets.boards import queries
from tickets.boards.board_scans import scan as scan_at
from tickets.boards.cards import Card, TicketCard, cards, done_card, ticket_cards
from tickets.boards.forms import CompleteForm
from tickets.boards.wording import sent_to_rack
from tickets.boards.work_tags import WorkTag, held_tags, work_tag, work_tags
from tickets.choices import BOARD_STATIONS, WORK_STATIONS, Station
from tickets.errors import Refused
from tickets.garments.queries import counted_washes
from tickets.numbers import NumberError, PieceCode
from tickets.promise.open_work import current_mark, open_work
from tickets.promise.queries import open_pieces
from tickets.promise.urgency import urgency_by, urgency_of, urgency_of_moved
from tickets.scanning import lines
from tickets.scanning.box import ScanBox, go
from tickets.scanning.results import TO_LOADS, Pending, Scanned, station_card
from tickets.shop.face import shop_face
from tickets.shop.machines import LOAD_STATIONS
from tickets.shop.queries import places_now
from tickets.tracking import queries as tracked
from tickets.tracking import services as tracking
from tickets.tracking.wording import came_without_key

SHOWN_AT_ONCE = 24
MOST_SHOWN = 600
_TICKET_DIGITS = 7


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
    work = open_work(now)
    counts, urgency = queries.station_counts(now, work), urgency_of(work, now)
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
    stations = [(count.station, count.waiting + count.matched) for count in counts]
    context = {"rows": rows, "room": "boards", "fault": fault, "line": line, "stations": stations}
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
    """One station. An htmx request gets the lists alone, or nothing (204) where they are still as
    ``?seen=`` says."""
    here = _station(station)
    live = bool(request.headers.get("HX-Request"))
    if live and request.GET.get("seen") == current_mark(timezone.now()):
        return HttpResponse(status=204)
    context = {**_board(request, here), "live": live}
    name = "_live.html" if live else "board.html"
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
    """What a scan changed on the page. Only the tickets of changed cards are forecast for it."""
    now = timezone.now()
    codes = list(result.touched) if result else []
    if result and result.ticket and station == Station.ASSEMBLY:
        codes = list(dict.fromkeys([*codes, *queries.codes_of_ticket(result.ticket)]))
    left = result.moved.code if result and result.moved and result.moved.station != station else ""
    staying = [code for code in codes if code != left]
    pieces = queries.on_board(station, staying) if staying else []
    on_page: list[Card] | list[TicketCard] = []
    if pieces:
        face = shop_face()
        urgency = urgency_of_moved(open_pieces(now, [piece.pk for piece in pieces]), now)
        tags = work_tags(
            pieces, now, urgency, washes=counted_washes(pieces), fahrenheit=face.fahrenheit
        )
        on_page = _cards(station, tags, fahrenheit=face.fahrenheit)
    shown = {piece.code for piece in pieces}
    gone = [code for code in codes if code not in shown]
    if station == Station.ASSEMBLY:
        numbers = dict.fromkeys(code[:_TICKET_DIGITS] for code in codes)
        staying_numbers = {str(piece.ticket.number) for piece in pieces}
        gone = [number for number in numbers if number not in staying_numbers]
    tallies = queries.tallies(now)
    return {
        "box": box,
        "station": station,
        "tally": tallies.get(station, queries.BoardTally(0, 0, 0)),
        "stations": [
            (place, tallies[place].total if place in tallies else 0) for place in BOARD_STATIONS
        ],
        "done": _done(station, box, now),
        "cards": on_page,
        "gone": gone,
        "scan_form": box.form,
        "complete_form": CompleteForm(),
    }


def _done(station: Station, box: ScanBox, now: datetime) -> Card | TicketCard | None:
    """The card of what was scanned last, which stays until the next scan: of a piece whose work
    here is done with where it goes, at the assembly table of its ticket. How urgent it is says the
    clock alone: nothing is forecast for it."""
    newest = box.results[0] if box.results else None
    if newest is None or not newest.is_good or not newest.piece:
        return None
    if station == Station.ASSEMBLY:
        piece = queries.piece_of_ticket(newest.piece)
    else:
        piece = queries.worked_piece(newest.piece) if station in WORK_STATIONS else None
    if piece is None or (station != Station.ASSEMBLY and piece.station == station):
        return None
    fahrenheit, urgency = shop_face().fahrenheit, urgency_by(None, now)
    if station == Station.ASSEMBLY:
        return ticket_cards([work_tag(piece, now, urgency, fahrenheit=fahrenheit)])[0]
    done = work_tag(piece, now, urgency, fahrenheit=fahrenheit, worked_at=station)
    goes_on = piece.station in WORK_STATIONS
    after = work_tag(piece, now, urgency, fahrenheit=fahrenheit) if goes_on else None
    return done_card(done, after, fahrenheit=fahrenheit)


def _cards(
    station: Station, tags: list[WorkTag], *, fahrenheit: bool
) -> list[Card] | list[TicketCard]:
    """A card for each piece, at the assembly table for each ticket."""
    if station == Station.ASSEMBLY:
        return ticket_cards(tags)
    return cards(tags, fahrenheit=fahrenheit)


@require_POST
def complete(request: HttpRequest, number: int) -> HttpResponse:
    """Send a matched ticket to the rack, or with a reason the part of it that is there."""
    form = CompleteForm(request.POST)
    target = safe_next(request, reverse("tickets:board", args=[Station.ASSEMBLY]))
    if not form.is_valid():
        messages.error(request, came_without_key())
        return redirect(target)
    try:
        moved = tracking.complete_ticket(
            number, act_of(request, BACK_ROOM, form.once), form.cleaned_data["part_reason"]
        )
    except Refused as no:
        messages.error(request, str(no))
    else:
        messages.success(request, sent_to_rack(number, len(moved)))
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
    face, work = shop_face(), open_work(now)
    urgency = urgency_of(work, now)
    tally = queries.tally_of(station, now)
    line = queries.waiting_at(station, work)[:shown]
    rows = queries.in_order_of(line, queries.with_card(queries.rows_of(line), station))
    box = _box(request, station)
    last = box.results[0].piece if box.results else ""
    rows.sort(key=lambda row: row.code != last)  # scanned last and still here: it is in hand
    tags = work_tags(rows, now, urgency, washes=counted_washes(rows), fahrenheit=face.fahrenheit)
    return {
        "station": station,
        "room": "boards",
        "cards": _cards(station, tags, fahrenheit=face.fahrenheit),
        "held": held_tags(queries.with_question(tracked.held_at(station)), now, urgency),
        "tally": tally,
        "done": _done(station, box, now),
        "mark": work.mark,
        "shown": shown,
        "show_next": shown + SHOWN_AT_ONCE if tally.total > shown else 0,
        "hidden": max(0, tally.total - shown),
        "today": timezone.localdate(now),
        "box": box,
        "scan_form": box.form,
        "complete_form": CompleteForm(),
        "stations": [
            (place, sum(piece.station == place and not piece.held for piece in work.pieces))
            for place in BOARD_STATIONS
        ],
        "has_loads": station in LOAD_STATIONS,
        "places": places_now(now) if station == Station.DRY else [],
    }


urlpatterns = [
    path("boards/", boards, name="boards"),
    path("boards/<slug:station>/", board, name="board"),
    path("boards/<slug:station>/scan/", scan, name="scan"),
    path("boards/assembly/complete/<int:number>/", complete, name="complete"),
]
