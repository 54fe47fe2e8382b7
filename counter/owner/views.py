"""The owner's day, and the list behind each of its figures."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from counter.owner.bar_chart import bar_chart
from counter.owner.day import day_figures
from counter.owner.lists import figure_list
from counter.owner.now import now_figures
from tickets.shop.calendar import business_day

ROWS_A_PAGE = 100
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class _Chosen:
    """The day asked for; ``fault`` says why it is another one."""

    day: date
    today: date
    fault: str = ""

    @property
    def is_today(self) -> bool:
        return self.day == self.today

    @property
    def before(self) -> date:
        return self.day - _DAY

    @property
    def after(self) -> date | None:
        return None if self.is_today else self.day + _DAY


@require_GET
def owner_day(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    chosen = _chosen(request, now)
    present, day = now_figures(now), day_figures(chosen.day, now)
    context = {
        "room": "owner",
        "chosen": chosen,
        "now": present,
        "day": day,
        "little": day.littles_law(present.in_process_total),
        "chart": bar_chart(day.chart),
        "stations": [(row, present.in_process.get(row.station, 0)) for row in day.stations],
    }
    return render(request, "counter/owner/day.html", context)


@require_GET
def owner_figure(request: HttpRequest, figure: str) -> HttpResponse:
    now = timezone.now()
    chosen = _chosen(request, now)
    found = figure_list(figure, chosen.day, now)
    if found is None:
        raise Http404
    page = Paginator(found.rows, ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "room": "owner",
        "chosen": chosen,
        "figure": found,
        "slug": figure,
        "page": page,
        "with_what": any(row.what for row in found.rows),
        "with_amount": found.total is not None,
    }
    return render(request, "counter/owner/figure.html", context)


def _chosen(request: HttpRequest, now: datetime) -> _Chosen:
    """The day of ``?day=2026-11-25``; today where it is missing, unreadable or to come."""
    today = business_day(now)
    asked = request.GET.get("day", "").strip()
    if not asked:
        return _Chosen(today, today)
    try:
        day = date.fromisoformat(asked)
    except ValueError:
        fault = _("%(day)s is not a day. Write it like %(example)s.") % {
            "day": asked[:40],
            "example": today.isoformat(),
        }
        return _Chosen(today, today, fault)
    if day > today or day.year < 2000:
        fault = _("There are no figures of %(day)s. Choose a day up to today.") % {
            "day": date_format(day, "j M Y")
        }
        return _Chosen(today, today, fault)
    return _Chosen(day, today)


urlpatterns = [
    path("owner/", owner_day, name="owner_day"),
    path("owner/figures/<slug:figure>/", owner_figure, name="owner_figure"),
]
