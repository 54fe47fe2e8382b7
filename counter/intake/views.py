"""Intake pages: the pieces of a draft, the editor of one piece, and opening the ticket."""

from __future__ import annotations

import uuid
from dataclasses import replace

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from counter.care import overrides
from counter.care.queries import records
from counter.customers import views as people
from counter.customers.queries import customer_with
from counter.intake import photos, queries, services, wording
from counter.intake.answered import answers, group_looks, what_it_is
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.editor import choices_for
from counter.intake.forms import TicketForm, read_names, read_piece
from counter.intake.judge import Judgement, judge, judge_unpromised
from counter.intake.queries import read_draft
from counter.intake.services import open_from_draft, start_draft
from counter.models import IntakeDraft
from counter.site.trouble import NotHere, here_or_404
from tickets.acting import AT_THE_COUNTER, act_of
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.promise.margin import QUANTILE

_MARGIN_KEEPS = 100 * QUANTILE
"""Percent of past tickets that the margin of a promise would have kept."""


@require_POST
def intake_start(request: HttpRequest, customer_pk: int) -> HttpResponse:
    """The customer's intake; ``earlier`` puts a garment on it that came before."""
    customer = here_or_404(customer_with(customer_pk))
    draft = start_draft(customer, act_of(request, AT_THE_COUNTER).by)
    if code := request.POST.get("earlier", ""):
        return _add_earlier(request, draft, code)
    return redirect("intake", key=draft.pk)


def _add_earlier(request: HttpRequest, draft: IntakeDraft, code: str) -> HttpResponse:
    try:
        position = services.add_earlier(draft.pk, code)
    except Refused as refusal:
        return _refused(request, draft, refusal)
    return redirect("intake_piece", key=draft.pk, position=position)


@require_http_methods(["GET", "HEAD", "POST"])
def intake(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The draft's pieces, promise, acceptances and total; POST saves the ticket's own part."""
    draft = _draft(key)
    if draft.ticket:
        return redirect("tickets:ticket", number=draft.ticket.number)
    form = _ticket_form(request, draft)
    if request.method != "POST":
        return _intake_page(request, draft, form, _judged(draft))
    judgement = _judged_as_sent(request, draft, form)
    try:
        draft = services.save_judged(draft.pk, judgement)
    except Refused as refusal:
        return _refused(request, draft, refusal)
    return _intake_page(request, draft, form, judgement)


@require_POST
def intake_open(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Open the ticket with what the page holds, or save that and say what is in the way.

    A second tap finds the same ticket.
    """
    draft = _draft(key)
    if draft.ticket:
        return redirect("tickets:ticket", number=draft.ticket.number)
    form = _ticket_form(request, draft)
    judgement = _judged_as_sent(request, draft, form)
    try:
        if not form.is_valid():
            return _kept_shut(request, draft, form, judgement)
        if unread := _to_read_first(request, judgement):
            messages.warning(request, unread)
            return _kept_shut(request, draft, form, judgement)
        ticket = open_from_draft(
            draft,
            form.promise,
            act_of(request, AT_THE_COUNTER),
            promise_reason=form.cleaned_data["promise_reason"],
            names=read_names(request.POST),
            judgement=judgement,
        )
    except Refused as refusal:
        return _not_opened(request, draft, form, judgement, refusal)
    messages.success(request, wording.ticket_opened(ticket.number))
    if later := _later_than_said(request, ticket):
        messages.warning(request, later)
    return redirect("tickets:ticket", number=ticket.number)


def _not_opened(
    request: HttpRequest,
    draft: IntakeDraft,
    form: TicketForm,
    judgement: Judgement,
    refusal: Refused,
) -> HttpResponse:
    if refusal.code.startswith("promise"):
        form.add_error("promised_at", str(refusal))
    elif refusal.code == "changed":
        messages.warning(request, str(refusal))
    elif refusal.code != "already_open":
        messages.error(request, str(refusal))
    try:
        return _kept_shut(request, draft, form, judgement)
    except Refused as gone:
        if gone.code == "already_open":
            return redirect("intake", key=draft.pk)
        raise


def _kept_shut(
    request: HttpRequest, draft: IntakeDraft, form: TicketForm, judgement: Judgement
) -> HttpResponse:
    """The page again, with what it held saved."""
    draft = services.save_judged(draft.pk, judgement)
    return _intake_page(request, draft, form, judgement, status=422)


@require_POST
def intake_discard(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    try:
        services.discard(key)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("intake", key=key)
    messages.success(request, wording.intake_discarded())
    return redirect("desk")


@require_POST
def intake_piece_add(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    draft = _draft(key)
    expected = request.POST.get("expected", "")
    try:
        _keep_ticket_part(request, draft)
        if code := request.POST.get("earlier", ""):
            return _add_earlier(request, draft, code)
        position = services.add_piece(
            key,
            int(expected) if expected.isdecimal() and len(expected) < 4 else len(draft.pieces),
            like=request.POST.get("like", ""),
        )
    except Refused as refusal:
        return _refused(request, draft, refusal)
    return redirect("intake_piece", key=key, position=position)


@require_POST
def intake_piece_remove(request: HttpRequest, key: uuid.UUID, position: int) -> HttpResponse:
    draft = _draft(key)
    try:
        _keep_ticket_part(request, draft)
        services.remove_piece(key, request.POST.get("piece", ""))
    except Refused as refusal:
        return _refused(request, draft, refusal)
    return redirect("intake", key=key)


@require_http_methods(["GET", "HEAD", "POST"])
def intake_piece(request: HttpRequest, key: uuid.UUID, position: int) -> HttpResponse:
    """The editor of one piece. Every POST saves; htmx gets back only what changed."""
    draft = _draft(key)
    if draft.ticket:
        return redirect("tickets:ticket", number=draft.ticket.number)
    do = request.POST.get("do", "")
    if request.method == "POST":
        piece_id = _piece_id(request, draft, position)
        try:
            draft = services.save_piece(key, piece_id, read_piece(request.POST, do))
        except Refused as refusal:
            return _refused(request, draft, refusal)
        position = [piece.id for piece in read_draft(draft).pieces].index(piece_id) + 1
        if do == "done":
            return redirect("intake", key=key)
    return _editor_page(request, draft, position, do)


@require_http_methods(["GET", "HEAD", "POST"])
def intake_photo(request: HttpRequest, key: uuid.UUID, position: int) -> HttpResponseBase:
    """GET shows the photo of a piece. POST saves the editor's form with a new photo, or none."""
    draft = _draft(key)
    if request.method != "POST":
        return _photo(draft, position)
    if request.htmx:  # type: ignore[attr-defined]
        # An answer given while the photo is still on its way: it brings no file of its own.
        return intake_piece(request, key, position)
    piece_id = _piece_id(request, draft, position)
    piece = read_draft(draft).find(piece_id)
    old = piece.photo if piece else ""
    try:
        if "description" in request.POST:  # the whole editor was sent along
            services.save_piece(key, piece_id, read_piece(request.POST))
        if request.POST.get("do") == "photo-off":
            services.save_piece(key, piece_id, {"photo": ""})
        else:
            upload = request.FILES.get("photo")
            if upload is None:
                raise Refused(
                    "no_photo", _("No photo was chosen."), _("Choose or take one, then send it.")
                )
            services.save_piece(key, piece_id, {"photo": photos.store_photo(upload)})
        photos.drop_photo(old)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("intake_piece", key=key, position=position)
    return redirect(reverse("intake_piece", args=[key, position]) + "#group-description")


def _draft(key: uuid.UUID) -> IntakeDraft:
    draft = queries.under_way(key)
    if draft is None:
        raise NotHere(_("This intake was thrown away. Begin again at the counter."))
    return draft


def _piece_id(request: HttpRequest, draft: IntakeDraft, position: int) -> str:
    """The piece a form speaks of: by its own mark, else by its place."""
    if sent := request.POST.get("piece", ""):
        return sent
    return _piece(draft, position).id


def _piece(draft: IntakeDraft, position: int) -> DraftPiece:
    if not 1 <= position <= len(draft.pieces):
        raise NotHere(_("This intake has no piece %(position)d any more.") % {"position": position})
    return read_draft(draft).pieces[position - 1]


def _photo(draft: IntakeDraft, position: int) -> HttpResponseBase:
    name = _piece(draft, position).photo
    picture = photos.kept_photo(name)
    if picture is None:
        raise Http404(_("This piece has no photo."))
    return FileResponse(
        picture,
        content_type="image/jpeg",
        headers={"Cache-Control": "private, max-age=3600"},
    )


def _ticket_form(request: HttpRequest, draft: IntakeDraft) -> TicketForm:
    if request.method == "POST":
        return TicketForm(request.POST, label_suffix="")
    return TicketForm(initial={"rush": draft.rush, "note": draft.note}, label_suffix="")


def _keep_ticket_part(request: HttpRequest, draft: IntakeDraft) -> None:
    """Where a button of the intake page was pressed, what stood beside it is saved too."""
    if "note" in request.POST:
        sent = _as_sent(draft, TicketForm(request.POST))
        names = read_names(request.POST)
        services.save_judged(draft.pk, judge_unpromised(sent, timezone.now(), names))


def _judged(draft: IntakeDraft) -> Judgement:
    return judge(read_draft(draft), timezone.now())


def _judged_as_sent(request: HttpRequest, draft: IntakeDraft, form: TicketForm) -> Judgement:
    """The draft with the rush, the note and the names that stand in the form."""
    return judge(_as_sent(draft, form), timezone.now(), read_names(request.POST))


def _as_sent(draft: IntakeDraft, form: TicketForm) -> Draft:
    form.is_valid()
    return replace(
        read_draft(draft),
        rush=bool(form.cleaned_data.get("rush")),
        note=form.cleaned_data.get("note", draft.note),
    )


def _to_read_first(request: HttpRequest, judgement: Judgement) -> str:
    """What the page did not say yet, or no longer says: rush that costs others, or new figures."""
    if not judgement.may_open:
        return ""  # the door says why
    if judgement.rush is not None and not request.POST.get("rush_shown"):
        return wording.read_rush_first()
    if request.POST.get("said", judgement.said) == judgement.said:
        return ""
    return wording.changed(len(judgement.pieces), judgement.quote.total, judgement.shop)


def _later_than_said(request: HttpRequest, ticket: Ticket) -> str:
    """The queue may have grown between the page and the tap; the customer heard an earlier time."""
    try:
        said = parse_datetime(request.POST.get("said_promise", ""))
    except ValueError:
        said = None
    if said is None or timezone.is_naive(said) or ticket.promised_at <= said:
        return ""
    return wording.later_than_said(ticket.promised_at, said)


def _intake_page(
    request: HttpRequest,
    draft: IntakeDraft,
    form: TicketForm,
    judgement: Judgement,
    status: int = 200,
) -> HttpResponse:
    """``judgement`` stands for the draft as it was judged; one that changed since is judged now."""
    if judgement.draft != read_draft(draft):
        judgement = _judged(draft)
    facts: dict[str, object] = {
        "draft": draft,
        "look": judgement,
        "form": form,
        "room": "desk",
        "margin_keeps": _MARGIN_KEEPS,
    }
    part = request.htmx and request.method == "POST"  # type: ignore[attr-defined]
    if not part:
        facts["came_before"] = queries.came_before(draft)
    page = "counter/intake/_ticket_changes.html" if part else "counter/intake/intake.html"
    return render(request, page, facts, status=status)


def _editor_page(request: HttpRequest, draft: IntakeDraft, position: int, do: str) -> HttpResponse:
    piece = _piece(draft, position)
    judgement, recorded = _judged(draft), piece.overrides or {}
    look = judgement.pieces[position - 1]
    said = answers(look)
    open_at = look.next_fault.field if look.next_fault else ""
    marked = bool(piece.facts.get("stains"))
    abilities = judgement.shop.abilities
    facts = {
        "draft": draft,
        "look": look,
        "promise": judgement.promise,
        "said": said,
        "what_said": what_it_is(said),
        "open_at": open_at,
        "standing": group_looks(said, open_at, marked=marked),
        "marked": marked,
        "room": "desk",
        "post_to": reverse("intake_piece", args=[draft.pk, position]),
        "lift_to": reverse("intake_overrides", args=[draft.pk, position]),
        "liftable": overrides.choices(piece.facts, recorded, abilities),
        "records": records(draft, piece.id) if piece.overrides is not None else [],
        "fallen": overrides.fallen_away(piece.facts, recorded),
        **choices_for(piece, look, do),
    }
    if not request.htmx:  # type: ignore[attr-defined]
        return render(request, "counter/intake/piece.html", facts)
    target = request.htmx.target or ""  # type: ignore[attr-defined]
    facts["swapped"] = target
    facts["kind_changed"] = piece.facts.get("kind", "") != request.POST.get("kind_was", "")
    facts["washes_changed"] = look.counted != bool(request.POST.get("washes_asked"))
    facts["pick"] = next((p for p in facts["picks"] if target == f"pick-{p['field']}"), None)
    return render(request, "counter/intake/_piece_changes.html", facts)


def _refused(request: HttpRequest, draft: IntakeDraft, refusal: Refused) -> HttpResponse:
    """Say why and go where the cure is; a fragment request is sent to the whole page."""
    messages.error(request, str(refusal))
    target = redirect(
        "desk" if refusal.code == "draft_gone" else "intake",
        *([] if refusal.code == "draft_gone" else [draft.pk]),
    )
    if request.htmx:  # type: ignore[attr-defined]
        return HttpResponse(status=204, headers={"HX-Redirect": target.url})
    return target


urlpatterns = [
    path("desk/", people.desk, name="desk"),
    path("customers/new/", people.customer_new, name="customer_new"),
    path("customers/<int:pk>/", people.customer, name="customer"),
    path("intake/start/<int:customer_pk>/", intake_start, name="intake_start"),
    path("intake/<uuid:key>/", intake, name="intake"),
    path("intake/<uuid:key>/pieces/add/", intake_piece_add, name="intake_piece_add"),
    path("intake/<uuid:key>/pieces/<int:position>/", intake_piece, name="intake_piece"),
    path(
        "intake/<uuid:key>/pieces/<int:position>/remove/",
        intake_piece_remove,
        name="intake_piece_remove",
    ),
    path("intake/<uuid:key>/pieces/<int:position>/photo/", intake_photo, name="intake_photo"),
    path("intake/<uuid:key>/open/", intake_open, name="intake_open"),
    path("intake/<uuid:key>/discard/", intake_discard, name="intake_discard"),
]
