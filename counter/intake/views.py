"""Intake pages: the pieces of a draft, the editor of one piece, and opening the ticket."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from counter.care import overrides
from counter.customers.standing import shown_moment
from counter.customers.views import customer, customer_new, desk
from counter.intake import came_before, drafts, photos
from counter.intake.editor import choices_for
from counter.intake.forms import TicketForm, read_names, read_piece
from counter.intake.from_draft import open_from_draft
from counter.intake.looks import DraftLook, look_at_draft, look_at_piece
from counter.intake.told_washes import earlier_of
from counter.models import IntakeDraft, Shop
from counter.money.amounts import format_money
from counter.money.prices import PriceList
from counter.site.trouble import NotHere
from tickets import house_book
from tickets.acting import AT_THE_COUNTER, act_of
from tickets.errors import Refused
from tickets.models import Customer, Ticket
from tickets.promise.margin import QUANTILE

_MARGIN_KEEPS = 100 * QUANTILE
"""Percent of past tickets that the margin of a promise would have kept."""


@require_POST
def intake_start(request: HttpRequest, customer_pk: int) -> HttpResponse:
    """The customer's intake; ``earlier`` puts a garment on it that came before."""
    draft = drafts.start(
        get_object_or_404(Customer, pk=customer_pk), act_of(request, AT_THE_COUNTER).by
    )
    if code := request.POST.get("earlier", ""):
        return _add_earlier(request, draft, code)
    return redirect("intake", key=draft.pk)


def _add_earlier(request: HttpRequest, draft: IntakeDraft, code: str) -> HttpResponse:
    try:
        position = drafts.add_earlier(draft.pk, code)
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
    if request.method == "POST":
        try:
            draft = _save_ticket_part(request, draft, form)
        except Refused as refusal:
            return _refused(request, draft, refusal)
    return _intake_page(request, draft, form)


@require_POST
def intake_open(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Save what the page holds, then open the ticket. A second tap finds the same ticket."""
    draft = _draft(key)
    if draft.ticket:
        return redirect("tickets:ticket", number=draft.ticket.number)
    form = _ticket_form(request, draft)
    try:
        draft = _save_ticket_part(request, draft, form)
        if not form.is_valid():
            return _intake_page(request, draft, form, status=422)
        if unread := _to_read_first(request, draft):
            messages.warning(request, unread)
            return _intake_page(request, draft, form, status=422)
        ticket = open_from_draft(
            draft,
            form.promise,
            act_of(request, AT_THE_COUNTER),
            promise_reason=form.cleaned_data["promise_reason"],
        )
    except Refused as refusal:
        if refusal.code == "already_open":
            return redirect("intake", key=key)
        if refusal.code.startswith("promise"):
            form.add_error("promised_at", str(refusal))
        else:
            messages.error(request, str(refusal))
        return _intake_page(request, _draft(key), form, status=422)
    messages.success(
        request,
        _("Ticket %(number)s is open. Print the tags and the claim slip now.")
        % {"number": ticket.number},
    )
    if later := _later_than_said(request, ticket):
        messages.warning(request, later)
    return redirect("tickets:ticket", number=ticket.number)


@require_POST
def intake_discard(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    try:
        drafts.discard(key)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("intake", key=key)
    messages.success(request, _("The intake was thrown away. No ticket came of it."))
    return redirect("desk")


@require_POST
def intake_piece_add(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    draft = _draft(key)
    expected = request.POST.get("expected", "")
    try:
        _keep_ticket_part(request, draft)
        if code := request.POST.get("earlier", ""):
            return _add_earlier(request, draft, code)
        position = drafts.add_piece(
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
        drafts.remove_piece(key, request.POST.get("piece", ""))
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
            draft = drafts.save_piece(key, piece_id, read_piece(request.POST, do))
        except Refused as refusal:
            return _refused(request, draft, refusal)
        position = next(n for n, each in enumerate(draft.pieces, 1) if each["id"] == piece_id)
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
    piece = drafts.find_piece(draft, piece_id)
    old = piece["photo"] if piece else ""
    try:
        if "description" in request.POST:  # the whole editor was sent along
            drafts.save_piece(key, piece_id, read_piece(request.POST))
        if request.POST.get("do") == "photo-off":
            drafts.save_piece(key, piece_id, {"photo": ""})
        else:
            upload = request.FILES.get("photo")
            if upload is None:
                raise Refused(
                    "no_photo", _("No photo was chosen."), _("Choose or take one, then send it.")
                )
            drafts.save_piece(key, piece_id, {"photo": photos.store_photo(upload)})
        photos.drop_photo(old)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("intake_piece", key=key, position=position)
    return redirect(reverse("intake_piece", args=[key, position]) + "#group-description")


def _draft(key: uuid.UUID) -> IntakeDraft:
    draft = drafts.under_way(key)
    if draft is None:
        raise NotHere(_("This intake was thrown away. Begin again at the counter."))
    return draft


def _piece_id(request: HttpRequest, draft: IntakeDraft, position: int) -> str:
    """The piece a form speaks of: by its own mark, else by its place."""
    if sent := request.POST.get("piece", ""):
        return sent
    return str(_piece(draft, position)["id"])


def _piece(draft: IntakeDraft, position: int) -> drafts.DraftPiece:
    if not 1 <= position <= len(draft.pieces):
        raise NotHere(_("This intake has no piece %(position)d any more.") % {"position": position})
    piece: drafts.DraftPiece = draft.pieces[position - 1]
    return piece


def _photo(draft: IntakeDraft, position: int) -> HttpResponseBase:
    name = _piece(draft, position)["photo"]
    if not name or not default_storage.exists(name):
        raise Http404(_("This piece has no photo."))
    return FileResponse(
        default_storage.open(name),
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
        _save_ticket_part(request, draft, TicketForm(request.POST))


def _save_ticket_part(request: HttpRequest, draft: IntakeDraft, form: TicketForm) -> IntakeDraft:
    form.is_valid()
    shop, price_list, house_rules = Shop.current(), PriceList.load(), house_book.current()
    abilities, accepted = shop.abilities, {}
    earlier = earlier_of(draft.pieces)
    for position, piece in enumerate(draft.pieces, 1):
        look = look_at_piece(piece, position, shop, price_list, house_rules, abilities, earlier)
        says = {hold.caution.key: hold.caution.says for hold in look.holds}
        if any(f"accept-{look.id}-{caution}" in request.POST for caution in says):
            accepted[look.id] = read_names(request.POST, look.id, says)
    return drafts.save_ticket_part(
        draft.pk,
        rush=bool(form.cleaned_data.get("rush")),
        note=form.cleaned_data.get("note", draft.note),
        accepted=accepted,
    )


def _to_read_first(request: HttpRequest, draft: IntakeDraft) -> str:
    """What the page did not say yet, or no longer says: rush that costs others, or new figures.

    A second window or a colleague may have added a piece, the owner may have changed a price.
    """
    shop = Shop.current()
    look = look_at_draft(draft, shop, timezone.now())
    if not look.may_open:
        return ""  # the door says why
    if look.rush is not None and not request.POST.get("rush_shown"):
        return _("Rush: read what it costs, then open the ticket.")
    if request.POST.get("said", look.said) == look.said:
        return ""
    return ngettext(
        "This intake changed after the page showed it. It has %(pieces)d piece for %(total)s now: "
        "read it to the customer, then open the ticket.",
        "This intake changed after the page showed it. It has %(pieces)d pieces for %(total)s now: "
        "read it to the customer, then open the ticket.",
        len(look.pieces),
    ) % {"pieces": len(look.pieces), "total": format_money(look.quote.total, shop)}


def _later_than_said(request: HttpRequest, ticket: Ticket) -> str:
    """The queue may have grown between the page and the tap; the customer heard an earlier time."""
    try:
        said = parse_datetime(request.POST.get("said_promise", ""))
    except ValueError:
        said = None
    if said is None or timezone.is_naive(said) or ticket.promised_at <= said:
        return ""
    return _(
        "The promise is %(now)s now, later than the %(said)s said before. Tell the customer."
    ) % {
        "now": shown_moment(ticket.promised_at),
        "said": shown_moment(said),
    }


def _intake_page(
    request: HttpRequest, draft: IntakeDraft, form: TicketForm, status: int = 200
) -> HttpResponse:
    look: DraftLook = look_at_draft(draft, Shop.current(), timezone.now())
    facts: dict[str, object] = {
        "draft": draft,
        "look": look,
        "form": form,
        "room": "desk",
        "margin_keeps": _MARGIN_KEEPS,
    }
    part = request.htmx and request.method == "POST"  # type: ignore[attr-defined]
    if not part:
        facts["came_before"] = came_before.offered(draft)
    page = "counter/intake/_ticket_changes.html" if part else "counter/intake/intake.html"
    return render(request, page, facts, status=status)


def _editor_page(request: HttpRequest, draft: IntakeDraft, position: int, do: str) -> HttpResponse:
    piece = _piece(draft, position)
    shop, house_rules = Shop.current(), house_book.current()
    look = look_at_piece(piece, position, shop, PriceList.load(), house_rules)
    facts = {
        "draft": draft,
        "look": look,
        "room": "desk",
        "post_to": reverse("intake_piece", args=[draft.pk, position]),
        "lift_to": reverse("intake_overrides", args=[draft.pk, position]),
        "liftable": overrides.choices(piece, shop),
        "records": overrides.records(draft, piece),
        "fallen": overrides.fallen_away(piece),
        **choices_for(piece, look, do),
    }
    if not request.htmx:  # type: ignore[attr-defined]
        return render(request, "counter/intake/piece.html", facts)
    target = request.htmx.target or ""  # type: ignore[attr-defined]
    facts["swapped"] = target
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
    path("desk/", desk, name="desk"),
    path("customers/new/", customer_new, name="customer_new"),
    path("customers/<int:pk>/", customer, name="customer"),
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
