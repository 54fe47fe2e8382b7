"""The care page: look anything up, and the house's own rules."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

import care_rules
from care_rules.heat import heat_spans
from care_rules.wording import limit_name, value_words
from counter.care import book, queries, services, wording
from counter.care.forms import HouseRuleForm, abouts
from counter.care.scales import scales_of
from counter.models import HouseRule, Shop
from tickets import house_book
from tickets.acting import AT_THE_COUNTER, act_of
from tickets.errors import Refused
from tickets.tracking.views import piece_or_404

_LONGEST_SEARCH = 80


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
    own = [house_rule.rule() for house_rule in house_book.current() if house_rule.about == rule]
    context = {"room": "care", "page": page, "house": own}
    return render(request, "counter/care/entry.html", context)


@require_http_methods(["GET", "HEAD"])
def piece_heat(request: HttpRequest, code: str) -> HttpResponse:
    """How warm a piece in the house may be washed and ironed, and must be, by today's tables."""
    piece = piece_or_404(code)
    rules = house_book.current()
    try:
        facts = care_rules.parse_facts(piece.facts)
        version = care_rules.rule_on(facts, rules).tables
        scales = scales_of(heat_spans(facts, rules), Shop.current())
    except care_rules.FactsError:
        version, scales = care_rules.TABLES_VERSION, []
    context = {"room": "care", "piece": piece, "scales": scales, "version": version}
    return render(request, "counter/care/piece_heat.html", context)


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
    rows = queries.house_rule_rows()
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
        answers = form.cleaned_data
        row = services.add_rule(
            answers["name"],
            answers["about"],
            answers["reason"],
            act_of(request, AT_THE_COUNTER),
            limits=form.limits(),
            level=answers["level"],
            says=answers["says"],
            do=answers["do"],
        )
        return wording.rule_binds(row.name)
    if what == "retire" and number.isascii() and number.isdecimal() and len(number) < 10:
        row = services.retire(
            int(number), request.POST.get("reason", ""), act_of(request, AT_THE_COUNTER)
        )
        return wording.rule_binds_no_more(row.name)
    raise Refused("bad_form", _("The form was not complete."), _("Send it again."))


def _limit_words(row: HouseRule, shop: Shop) -> list[str]:
    return [
        f"{limit_name(path)}: {value_words(path, value, fahrenheit=shop.fahrenheit)}"
        for path, value, _strength in row.as_rule().rule().limits
    ]


urlpatterns = [
    path("care/", care, name="care"),
    path("care/about/<path:rule>/", care_entry, name="care_entry"),
    path("care/pieces/<str:code>/", piece_heat, name="piece_heat"),
    path("shop/house-rules/", house_rules_page, name="house_rules"),
]
