"""Pages of one ticket and one piece, and the papers of the back room."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from django.contrib import messages
from django.core.exceptions import SuspiciousFileOperation
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from care_rules import Decision
from care_rules.vocabulary import Rule
from care_rules.wording import TreatmentLine, load_words, treatment_lines
from tickets import house_book, wording
from tickets.acting import BACK_ROOM, act_of
from tickets.boards.forms import CompleteForm
from tickets.boards.work_tags import TagStep, work_tag
from tickets.choices import BOARD_STATIONS, Paper, PieceState, Station
from tickets.errors import Refused
from tickets.garments.customers import show_phone
from tickets.garments.queries import counted_washes
from tickets.garments.wording import wash_words
from tickets.models import Hold, Move, Piece, Ticket
from tickets.numbers import NumberError, PieceCode, parse_code
from tickets.pieces import papers, queries, services
from tickets.pieces import wording as piecewords
from tickets.pieces.forms import TagsForm
from tickets.printing import PaperError
from tickets.promise.urgency import AT_RISK, DONE, DUE, LATE, outlook_at, urgency_at, urgency_by
from tickets.shop.calendar import business_day
from tickets.shop.face import shop_face
from tickets.shop.queries import has_loads, rack_places
from tickets.tracking import services as tracking
from tickets.tracking.dots import dot_of
from tickets.tracking.forms import (
    HoldForm,
    OnceForm,
    RedoForm,
    ReleaseForm,
    ReturnForm,
)
from tickets.tracking.queries import last_moves
from tickets.tracking.services import Moved
from tickets.tracking.views import piece_or_404, ticket_or_404

_CARD_PAPERS = ("a4", "letter")


@require_safe
def ticket(request: HttpRequest, number: int) -> HttpResponse:
    return _ticket_page(request, ticket_or_404(number), TagsForm(initial=_tag_choice()))


def _tag_choice() -> dict[str, object]:
    return {"size": shop_face().tag_size}


@dataclass(frozen=True)
class TicketRow:
    """One piece on the page of its ticket; a closed piece has no ``dot``."""

    piece: Piece
    kind: str
    dot: str
    urgency: str
    last: Move | None
    hold: Hold | None


def _ticket_page(
    request: HttpRequest, row: Ticket, tags_form: TagsForm, status: int = 200
) -> HttpResponse:
    now = timezone.now()
    pieces = queries.cards_of(row)
    outlook = outlook_at(now)
    urgency, moves = urgency_by(outlook, now), last_moves(pieces)
    rows = [
        TicketRow(
            piece=piece,
            kind=wording.kind_name(piece.kind),
            dot=dot_of(piece) if piece.is_open else "",
            urgency=urgency(piece),
            last=moves.get(piece.pk),
            hold=piece.open_holds[0] if piece.open_holds else None,  # type: ignore[attr-defined]
        )
        for piece in pieces
    ]
    at_intake = (PieceState.WAITING, Station.INTAKE)
    prints = queries.prints_of(row)
    on_table = (PieceState.ASSEMBLED, Station.ASSEMBLY)
    matched = [p for p in pieces if (p.state, p.station) == on_table]
    missing = [
        p for p in pieces if p.is_open and p.state not in (PieceState.ASSEMBLED, PieceState.READY)
    ]
    expected = outlook.tickets.get(row.number) if outlook else None
    context = {
        "ticket": row,
        "phone": show_phone(row.customer.phone, shop_face().country),
        "room": "boards",
        "rows": rows,
        "urgency": _worst([entry.urgency for entry in rows]),
        "differs": len({entry.urgency for entry in rows if entry.piece.is_open}) > 1,
        "promise": wording.promise_words(row.promised_at, now),
        "expected": piecewords.expected_words(expected, now),
        "places": sorted({p.rack_place.code for p in pieces if p.rack_place}),
        "prints": prints,
        "slip_printed": any(entry.paper == Paper.CLAIM_SLIP for entry in prints),
        "papers_first": not prints and all((p.state, p.station) == at_intake for p in pieces),
        "ways": _ways(pieces),
        "to_hand_over": any(p.state == PieceState.READY for p in pieces),
        "tags_form": tags_form,
        "matched": matched,
        "missing": missing,
        "to_rack": bool(matched) and not missing,
        "complete_form": CompleteForm(),
    }
    return render(request, "tickets/pieces/ticket.html", context, status=status)


def _ways(pieces: Iterable[Piece]) -> list[tuple[Station, int]]:
    """Where a ticket's pieces wait for the crew, in route order, with how many there."""
    waits = Counter(
        piece.station
        for piece in pieces
        if piece.state == PieceState.WAITING
        or (piece.state, piece.station) == (PieceState.ASSEMBLED, Station.RACK)
    )
    return [(station, waits[station]) for station in BOARD_STATIONS if station in waits]


def _worst(urgencies: list[str]) -> str:
    order = (LATE, AT_RISK, DUE, DONE)
    return min(urgencies, key=order.index) if urgencies else DUE


@require_safe
def piece(request: HttpRequest, code: str) -> HttpResponse:
    """Everything about one piece in hand. A spoken number leads to the page of its digits."""
    try:
        read = parse_code(code)
    except NumberError as no:
        raise Http404(str(no)) from no
    if not isinstance(read, PieceCode):
        return redirect("tickets:ticket", read.ticket)
    if read.digits != code:
        return redirect("tickets:piece", read.digits)
    return _piece_page(request, piece_or_404(code))


def _piece_page(
    request: HttpRequest, row: Piece, status: int = 200, **bound: OnceForm
) -> HttpResponse:
    now, face = timezone.now(), shop_face()
    tag = work_tag(row, now, urgency_at(now), fahrenheit=face.fahrenheit)
    every = wording.cautions(row.care_decision, least="info")
    stains = [caution for caution in every if caution.key.startswith("stain.")]
    others = [caution for caution in every if caution not in stains]
    forms: dict[str, OnceForm] = {
        "hold_form": HoldForm(initial={"owner": request.user.pk}),
        "release_form": ReleaseForm(),
        "redo_form": RedoForm(piece=row),
        "return_form": ReturnForm(),
    }
    context = {
        **forms,
        **bound,
        "open_form": next(iter(bound), ""),
        "piece": row,
        "ticket": row.ticket,
        "room": "boards",
        "tag": tag,
        "today": business_day(now),
        "first_aid": stains,
        "warned": [caution for caution in others if caution.level != "info"],
        "noted": [caution for caution in others if caution.level == "info"],
        "load": load_words(row.care_decision.load),
        "limits": _limits(row.care_decision, fahrenheit=face.fahrenheit),
        "tasks": [
            TagStep(step, wording.setting_words(step.settings, fahrenheit=face.fahrenheit))
            for step in row.steps.all()
        ],
        "said_above": (
            [task.step.order for task in tag.tasks] if row.state == PieceState.WAITING else []
        ),
        "told": wording.told_at_intake(row.care_facts),
        "accepted": queries.acceptances_of(row),
        "moves": queries.moves_of(row),
        "holds": queries.holds_of(row),
        "redone_as": row.redone_as.all(),
        "washed": wash_words([row], counted_washes([row])).get(row.pk, ""),
        "later": queries.later_visit(row),
    }
    return render(request, "tickets/pieces/piece.html", context, status=status)


def _limits(decision: Decision, *, fahrenheit: bool) -> list[tuple[TreatmentLine, list[Rule]]]:
    """Each limit of a decision in words, with the rules behind it."""
    lines = treatment_lines(decision.limits, fahrenheit=fahrenheit)
    return [(line, house_book.rules_of(_keys_of(decision, line))) for line in lines]


def _keys_of(decision: Decision, line: TreatmentLine) -> list[str]:
    keys = (key for path in line.paths for key in decision.because.get(path, ()))
    return list(dict.fromkeys(keys))


@require_safe
def piece_photo(request: HttpRequest, code: str) -> HttpResponseBase:
    row = piece_or_404(code)
    if not row.photo:
        raise Http404(_("%(piece)s has no photo.") % {"piece": row.spoken})
    try:
        file = row.photo.open("rb")
    except (FileNotFoundError, SuspiciousFileOperation) as gone:
        raise Http404(_("The photo of %(piece)s is gone.") % {"piece": row.spoken}) from gone
    return FileResponse(file, headers={"Cache-Control": "private, max-age=3600"})


@require_POST
def hold(request: HttpRequest, code: str) -> HttpResponse:
    row, form = piece_or_404(code), HoldForm(request.POST)

    def act() -> Moved:
        data = form.cleaned_data
        return tracking.hold(
            code,
            data["reason"],
            data["owner"],
            data["ask_again_on"],
            act_of(request, BACK_ROOM, form.once),
        )

    return _change(request, row, "hold_form", form, act, piecewords.now_held)


@require_POST
def release(request: HttpRequest, code: str) -> HttpResponse:
    row, form = piece_or_404(code), ReleaseForm(request.POST)

    def act() -> Moved:
        return tracking.release(
            code, form.cleaned_data["outcome"], act_of(request, BACK_ROOM, form.once)
        )

    return _change(request, row, "release_form", form, act, piecewords.hold_ended)


@require_POST
def redo(request: HttpRequest, code: str) -> HttpResponse:
    row = piece_or_404(code)
    form = RedoForm(request.POST, piece=row)

    def act() -> Moved:
        data = form.cleaned_data
        station = Station(data["station"])
        return tracking.send_back(
            code, station, data["reason"], act_of(request, BACK_ROOM, form.once)
        )

    return _change(request, row, "redo_form", form, act, piecewords.goes_back)


@require_POST
def return_undone(request: HttpRequest, code: str) -> HttpResponse:
    row, form = piece_or_404(code), ReturnForm(request.POST)

    def act() -> Moved:
        return tracking.return_undone(
            code, form.cleaned_data["reason"], act_of(request, BACK_ROOM, form.once)
        )

    return _change(request, row, "return_form", form, act, piecewords.goes_back_undone)


def _change(
    request: HttpRequest,
    row: Piece,
    name: str,
    form: OnceForm,
    act: Callable[[], Moved],
    says: Callable[[Piece], str],
) -> HttpResponse:
    """Do what a form asks and go back to the piece; a refusal shows on the page, with the form."""
    if not form.is_valid():
        return _piece_page(request, row, status=422, **{name: form})
    try:
        moved = act()
    except Refused as no:
        messages.error(request, str(no))
        return _piece_page(request, piece_or_404(row.code), status=409, **{name: form})
    messages.success(request, says(moved.piece))
    return redirect("tickets:piece", row.code)


@require_POST
def paper_tags(request: HttpRequest, number: int) -> HttpResponse:
    """Builds, logs and shows the tags of a ticket."""
    row, form = ticket_or_404(number), TagsForm(request.POST)
    if not form.is_valid():
        return _ticket_page(request, row, form, status=422)
    act = act_of(request, BACK_ROOM)
    try:
        printed = services.print_tags(
            row,
            act.by,
            size=form.cleaned_data["size"],
            start_at=form.cleaned_data["start_at"],
            at=act.at,
        )
    except PaperError as fault:
        form.add_error("start_at", str(fault))
        return _ticket_page(request, row, form, status=422)
    return _pdf(printed.pdf, f"tags-{row.number}.pdf")


@require_safe
def paper_cards(request: HttpRequest) -> HttpResponse:
    """Cards for the scanner, on A4 or, with ``?paper=letter``, on Letter."""
    paper = request.GET.get("paper", _CARD_PAPERS[0])
    if paper not in _CARD_PAPERS:
        raise Http404(_("Cards are printed on a4 or letter, not on %(paper)s.") % {"paper": paper})
    cards = papers.scan_cards(paper, rack_places(), with_loads=has_loads())
    return _pdf(cards, "scan-cards.pdf")


def _pdf(body: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        body,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "no-store"},
    )


urlpatterns = [
    path("tickets/<int:number>/", ticket, name="ticket"),
    path("tickets/<int:number>/tags.pdf", paper_tags, name="paper_tags"),
    path("papers/cards.pdf", paper_cards, name="paper_cards"),
    path("pieces/<str:code>/", piece, name="piece"),
    path("pieces/<str:code>/photo/", piece_photo, name="piece_photo"),
    path("pieces/<str:code>/hold/", hold, name="hold"),
    path("pieces/<str:code>/release/", release, name="release"),
    path("pieces/<str:code>/redo/", redo, name="redo"),
    path("pieces/<str:code>/return/", return_undone, name="return_undone"),
]
