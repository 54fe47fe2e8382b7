"""The day plan: a chart for the wall with a list under it, and the same on paper."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from tickets.errors import Refused
from tickets.plan.chart import NARROW, WIDE, plan_chart
from tickets.plan.paper import SHEETS, build_plan, sheet_of
from tickets.plan.sheet import plan_sheet
from tickets.plan.shop_day import day_plan
from tickets.shop.face import shop_face


@never_cache
@require_safe
def plan(request: HttpRequest) -> HttpResponse:
    """Today's plan, or after closing that of the next day. An htmx request gets it alone."""
    context = {"room": "plan"}
    try:
        sheet = plan_sheet(day_plan(timezone.now()))
    except Refused as no:
        return render(request, "tickets/plan/plan.html", {**context, "fault": str(no)})
    charts = [("wide", plan_chart(sheet, WIDE)), ("narrow", plan_chart(sheet, NARROW))]
    name = "_plan" if request.headers.get("HX-Request") else "plan"
    return render(
        request, f"tickets/plan/{name}.html", {**context, "plan": sheet, "charts": charts}
    )


@never_cache
@require_safe
def paper_plan(request: HttpRequest) -> HttpResponse:
    """The plan as PDF on the shop's sheet, or with ``?paper=`` on another. Nothing is logged."""
    shop = shop_face()
    paper = request.GET.get("paper", sheet_of(shop))
    if paper not in SHEETS:
        raise Http404(
            _("The plan is printed on a4 or letter, not on %(paper)s.") % {"paper": paper}
        )
    try:
        pdf = build_plan(plan_sheet(day_plan(timezone.now())), shop.name, paper, shop.tag_dpi)
    except Refused as no:
        raise Http404(str(no)) from no
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={
            "Content-Disposition": 'inline; filename="day-plan.pdf"',
            "Cache-Control": "no-store",
        },
    )


urlpatterns = [
    path("plan/", plan, name="plan"),
    path("plan/paper/", paper_plan, name="paper_plan"),
]
