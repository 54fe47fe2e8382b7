"""The day plan hour by hour, on the wall, and on paper."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from tickets.errors import Refused
from tickets.plan.paper import SHEETS, build_plan, sheet_of
from tickets.plan.queries import promised_before
from tickets.plan.sheet import plan_sheet, short_numbers
from tickets.plan.shop_day import day_plan
from tickets.plan.wall import MOST_DUE, dues_of, wall_of
from tickets.promise.open_work import current_mark, open_work
from tickets.shop.face import shop_face
from tickets.wording import short_name


@never_cache
@require_safe
def plan(request: HttpRequest) -> HttpResponse:
    """Today's plan, or after closing that of the next day. An htmx request gets it alone, or
    nothing (204) where it still is as ``?seen=`` says."""
    mark, live = current_mark(timezone.now()), bool(request.headers.get("HX-Request"))
    if live and request.GET.get("seen") == mark:
        return HttpResponse(status=204)
    context = {"room": "plan", "mark": mark}
    try:
        sheet = plan_sheet(day_plan(timezone.now()))
    except Refused as no:
        return render(request, "tickets/plan/plan.html", {**context, "fault": str(no)})
    name = "_plan" if live else "plan"
    return render(request, f"tickets/plan/{name}.html", {**context, "plan": sheet})


@never_cache
@require_safe
def wall(request: HttpRequest) -> HttpResponse:
    """The plan for a screen on the wall, 1920 by 1080; it asks for itself anew each minute."""
    now = timezone.now()
    try:
        sheet = plan_sheet(day_plan(now))
    except Refused as no:
        return render(request, "tickets/plan/wall.html", {"fault": str(no)})
    outlook = open_work(now).outlook
    risky = {expected.ticket.number for expected in outlook.at_risk()}
    tickets = promised_before(sheet.closes, list(outlook.tickets))
    levels = {
        ticket.number: "late"
        if ticket.promised_at < now
        else "risk"
        if ticket.number in risky
        else "due"
        for ticket in tickets
    }
    rows = [
        (ticket.number, ticket.promised_at, short_name(ticket.customer.name)) for ticket in tickets
    ]
    context = {
        "plan": sheet,
        "wall": wall_of(sheet),
        "dues": dues_of(rows, now, levels, short_numbers(levels)),
        "due_count": len(rows),
        "more": max(0, len(rows) - MOST_DUE),
    }
    return render(request, "tickets/plan/wall.html", context)


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
    path("plan/wall/", wall, name="plan_wall"),
    path("plan/paper/", paper_plan, name="paper_plan"),
]
