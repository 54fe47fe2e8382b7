"""The care page: look anything up, try a piece without a ticket, and the house's own rules."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

import care_rules
from care_rules.wording import limit_name, value_words
from counter.care import book, house_rules, overrides
from counter.care.drawing import Drawing, draw
from counter.care.forms import HouseRuleForm, abouts
from counter.intake import drafts
from counter.intake.editor import FAULT_SLOTS, choices_for
from counter.intake.forms import read_piece
from counter.intake.inspection import QUESTIONS
from counter.intake.looks import PieceLook, look_at_piece
from counter.models import HouseRule, Shop
from counter.money.prices import PriceList
from tickets import house_book
from tickets.acting import AT_THE_COUNTER, act_of
from tickets.errors import Refused

_LONGEST_SEARCH = 80
_TRY_SLOTS = [
    slot
    for slot in FAULT_SLOTS
    if slot not in {"pockets", "fastenings", "found", "fault", "prices"}
    and slot not in {"description", "set_mark", "weight_g"}
]
"""Groups of the what-if form that have a place for a fault of their own."""


@require_http_methods(["GET", "HEAD"])
def care(request: HttpRequest) -> HttpResponse:
    """Search by typing, or browse a group of the tables."""
    typed = request.GET.get("q", "").replace("\x00", "")[:_LONGEST_SEARCH].strip()
    group = book.GROUPS.get(request.GET.get("group", ""))
    context: dict[str, object] = {
        "room": "care",
        "typed": typed,
        "groups": book.groups(),
        "group": group,
        "found": book.search(typed),
        "most": book.MOST_FOUND,
        "under": book.browse(group.key) if group and not typed else [],
    }
    name = "_found" if request.htmx else "care"  # type: ignore[attr-defined]
    return render(request, f"counter/care/{name}.html", context)


@require_http_methods(["GET", "HEAD"])
def care_entry(request: HttpRequest, rule: str) -> HttpResponse:
    """All that the tables say about one key."""
    page = book.page(rule, Shop.current())
    if page is None:
        raise Http404(_("The care tables hold no %(key)s.") % {"key": rule})
    own = [each.rule() for each in house_book.current() if each.about == rule]
    context = {"room": "care", "page": page, "house": own}
    return render(request, "counter/care/entry.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def care_try(request: HttpRequest) -> HttpResponse:
    """A piece that nobody hands in: the decision and the picture of it. Nothing is stored."""
    sent = request.POST if request.method == "POST" else request.GET
    do = sent.get("do", "")
    shop, rules = Shop.current(), house_book.current()
    piece = _what_if(sent, do)
    look = look_at_piece(piece, 1, shop, PriceList.load(), rules)
    # A piece that nobody hands in is not looked over and not priced.
    look.faults = [
        fault
        for fault in look.faults
        if fault.field != "prices" and not (fault.open and fault.field in QUESTIONS)
    ]
    choices = choices_for(piece, look, do)
    context: dict[str, object] = {
        "room": "care",
        "look": look,
        "drawing": _drawing(look, rules, shop),
        "home": care_rules.home_care(look.decision) if look.decision else [],
        "post_to": reverse("care_try"),
        "try_slots": _TRY_SLOTS,
        **choices,
    }
    if not request.htmx:  # type: ignore[attr-defined]
        return render(request, "counter/care/try.html", context)
    target = request.htmx.target or ""  # type: ignore[attr-defined]
    context["swapped"] = target
    context["pick"] = next((p for p in choices["picks"] if target == f"pick-{p['field']}"), None)
    return render(request, "counter/care/_try_changes.html", context)


def _what_if(sent: QueryDict, do: str) -> drafts.DraftPiece:
    piece = drafts.blank_piece()
    piece["id"] = "what-if"
    if sent:
        piece |= read_piece(sent, do)
        piece |= {"inspection": {}, "prices": {}, "weight_g": 0, "set_mark": "", "description": ""}
    return piece


def _drawing(
    look: PieceLook, rules: tuple[care_rules.HouseRule, ...], shop: Shop
) -> Drawing | None:
    if look.decision is None:
        return None
    known = {name: value for name, value in look.facts.items() if value not in ("", None)}
    return draw(care_rules.why(care_rules.parse_facts(known), rules), shop)


@require_http_methods(["GET", "POST"])
def house_rules_page(request: HttpRequest) -> HttpResponse:
    """The owner adds a rule that makes things stricter, or retires one."""
    shop = Shop.current()
    form = HouseRuleForm(request.POST if request.POST.get("what") == "add" else None)
    status = 200
    if request.method == "POST":
        try:
            words = _change(request, form)
        except Refused as refusal:
            messages.error(request, str(refusal))
            words = ""
        if words:
            messages.success(request, words)
            return redirect("house_rules")
        status = 422
    rows = HouseRule.objects.select_related("added_by", "retired_by")
    shown = [(row, _limit_words(row, shop)) for row in rows]
    context = {
        "part": "house",
        "room": "shop",
        "form": form,
        "abouts": abouts(),
        "in_force": [pair for pair in shown if pair[0].in_force],
        "retired": [pair for pair in shown if not pair[0].in_force],
    }
    return render(request, "counter/care/house.html", context, status=status)


def _change(request: HttpRequest, form: HouseRuleForm) -> str:
    """What was done, in words; empty where the form has faults of its own."""
    what, number = request.POST.get("what", ""), request.POST.get("rule", "")
    if what == "add":
        if not form.is_valid():
            return ""
        told = form.cleaned_data
        row = house_rules.add(
            told["name"],
            told["about"],
            told["reason"],
            act_of(request, AT_THE_COUNTER),
            limits=form.limits(),
            level=told["level"],
            says=told["says"],
            do=told["do"],
        )
        return _("“%(name)s” binds from now on.") % {"name": row.name}
    if what == "retire" and number.isascii() and number.isdecimal() and len(number) < 10:
        row = house_rules.retire(
            int(number), request.POST.get("reason", ""), act_of(request, AT_THE_COUNTER)
        )
        return _("“%(name)s” binds no more.") % {"name": row.name}
    raise Refused("bad_form", _("The form was not complete."), _("Send it again."))


def _limit_words(row: HouseRule, shop: Shop) -> list[str]:
    return [
        f"{limit_name(each)}: {value_words(each, value, fahrenheit=shop.fahrenheit)}"
        for each, value, _strength in row.as_rule().rule().limits
    ]


@require_POST
def intake_overrides(request: HttpRequest, key: uuid.UUID, position: int) -> HttpResponse:
    """The owner records for one piece which usual limits rise to its label, and why."""
    try:
        overrides.record(
            key,
            request.POST.get("piece", ""),
            request.POST.getlist("lift"),
            request.POST.get("reason", ""),
            act_of(request, AT_THE_COUNTER),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("Recorded. The decision follows the label as far as you said."))
    return redirect("intake_piece", key=key, position=position)


urlpatterns = [
    path("care/", care, name="care"),
    path("care/try/", care_try, name="care_try"),
    path("care/about/<path:rule>/", care_entry, name="care_entry"),
    path("shop/house-rules/", house_rules_page, name="house_rules"),
    path(
        "intake/<uuid:key>/pieces/<int:position>/overrides/",
        intake_overrides,
        name="intake_overrides",
    ),
]
