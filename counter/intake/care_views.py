"""Where intake and care meet: a piece tried without a ticket, and a limit that the owner lifts."""

from __future__ import annotations

import uuid
from dataclasses import replace

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

import care_rules
from care_rules.heat import heat_spans
from counter.care.drawing import Drawing, draw
from counter.care.scales import HeatScale, scales_of
from counter.intake import queries, services, wording
from counter.intake.drafts import DraftPiece
from counter.intake.editor import FAULT_SLOTS, choices_for
from counter.intake.forms import read_piece
from counter.intake.inspection import QUESTIONS
from counter.intake.judge import JudgedPiece, judge_piece
from counter.models import Shop
from tickets.acting import AT_THE_COUNTER, act_of
from tickets.errors import Refused

_TRY_SLOTS = [
    slot
    for slot in FAULT_SLOTS
    if slot not in {"pockets", "fastenings", "found", "fault", "prices"}
    and slot not in {"description", "set_mark", "weight_g"}
]
"""Groups of the what-if form that have a place for a fault of their own."""


@require_http_methods(["GET", "HEAD", "POST"])
def care_try(request: HttpRequest) -> HttpResponse:
    """A piece that nobody hands in: the decision and the picture of it. Nothing is stored."""
    sent = request.POST if request.method == "POST" else request.GET
    do = sent.get("do", "")
    house, piece = queries.house(), _what_if(sent, do)
    look = judge_piece(piece, 1, house)
    # A piece that nobody hands in is not looked over and not priced.
    faults = [
        fault
        for fault in look.faults
        if fault.field != "prices" and not (fault.open and fault.field in QUESTIONS)
    ]
    look = replace(look, faults=faults)
    choices = choices_for(piece, look, do)
    context: dict[str, object] = {
        "room": "care",
        "look": look,
        **_pictures(look, house.rules, house.shop),
        "home": care_rules.home_care(look.decision) if look.decision else [],
        "post_to": reverse("care_try"),
        "try_slots": _TRY_SLOTS,
        "standing": {},
        **choices,
    }
    if not request.htmx:  # type: ignore[attr-defined]
        return render(request, "counter/care/try.html", context)
    target = request.htmx.target or ""  # type: ignore[attr-defined]
    context["swapped"] = target
    context["pick"] = next((p for p in choices["picks"] if target == f"pick-{p['field']}"), None)
    return render(request, "counter/care/_try_changes.html", context)


def _what_if(sent: QueryDict, do: str) -> DraftPiece:
    if not sent:
        return DraftPiece(id="what-if")
    piece = replace(DraftPiece(id="what-if"), **read_piece(sent, do))
    return replace(piece, inspection={}, prices={}, weight_g=0, set_mark="", description="")


def _pictures(
    look: JudgedPiece, rules: tuple[care_rules.HouseRule, ...], shop: Shop
) -> dict[str, Drawing | list[HeatScale]]:
    if look.decision is None:
        return {}
    known = {name: value for name, value in look.facts.items() if value not in ("", None)}
    facts = care_rules.parse_facts(known)
    return {
        "drawing": draw(care_rules.why(facts, rules), shop),
        "scales": scales_of(heat_spans(facts, rules), shop),
    }


@require_POST
def intake_overrides(request: HttpRequest, key: uuid.UUID, position: int) -> HttpResponse:
    """The owner records for one piece which usual limits rise to its label, and why."""
    try:
        services.record_overrides(
            key,
            request.POST.get("piece", ""),
            request.POST.getlist("lift"),
            request.POST.get("reason", ""),
            act_of(request, AT_THE_COUNTER),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, wording.limits_lifted())
    return redirect("intake_piece", key=key, position=position)


urlpatterns = [
    path("care/try/", care_try, name="care_try"),
    path(
        "intake/<uuid:key>/pieces/<int:position>/overrides/",
        intake_overrides,
        name="intake_overrides",
    ),
]
