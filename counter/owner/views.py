"""The owner's day, the list behind each of its figures, and the ninety days up to it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_GET

from counter.owner import wording
from counter.owner.bar_charts import row_lengths, takings_chart, week_chart, work_bars
from counter.owner.day import DayFigures, day_figures
from counter.owner.lists import figure_list
from counter.owner.now import NowFigures, now_figures
from counter.owner.promise_line import Standing, promise_line, promises_of, rows_down
from counter.owner.quarter import quarter_figures, thirteen_weeks
from counter.owner.to_settle import ToSettle, to_settle
from counter.owner.wording import findings as words
from tickets.promise.open_work import open_work
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
    calendar = open_work(now).calendar
    present = now_figures(now, calendar)
    day = day_figures(chosen.day, now, calendar)
    weeks = thirteen_weeks(chosen.day, now)
    whole = weeks[-2]
    context = {
        "room": "owner",
        "chosen": chosen,
        "now": present,
        "day": day,
        "promises": _promises(chosen, present, day),
        "work": _work(present, chosen.today),
        "todo": _to_settle(present),
        "weeks": week_chart(weeks),
        "weeks_found": words.weeks_found(
            whole.first, whole.finished, whole.on_time, chosen.is_today
        ),
        "taken": takings_chart(day.taken),
        "unclaimed": zip(
            present.unclaimed, row_lengths([band.count for band in present.unclaimed]), strict=True
        ),
        "little": day.littles_law(present.in_process_total),
        "stations": [(row, present.in_process.get(row.station, 0)) for row in day.stations],
    }
    return render(request, "counter/owner/day.html", context)


@require_GET
def owner_quarter(request: HttpRequest) -> HttpResponse:
    """The ninety days up to a day, by week."""
    now = timezone.now()
    chosen = _chosen(request, now)
    quarter = quarter_figures(chosen.day, now)
    context = {
        "room": "owner",
        "chosen": chosen,
        "quarter": quarter,
        "weeks": week_chart([week.point for week in quarter.weeks]),
    }
    return render(request, "counter/owner/quarter.html", context)


@require_GET
def owner_figure(request: HttpRequest, figure: str) -> HttpResponse:
    now = timezone.now()
    chosen = _chosen(request, now)
    listing = figure_list(figure, chosen.day, now)
    if listing is None:
        raise Http404
    page = Paginator(listing.rows, ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "room": "owner",
        "chosen": chosen,
        "figure": listing,
        "slug": figure,
        "page": page,
        "with_what": any(row.what for row in listing.rows),
        "with_asks": any(row.asks for row in listing.rows),
        "with_amount": listing.total is not None,
    }
    return render(request, "counter/owner/figure.html", context)


def _promises(chosen: _Chosen, present: NowFigures, day: DayFigures) -> dict[str, object]:
    """The line of the day; beside it on today what is late from days before."""
    numbers = {ticket.number for ticket in present.at_risk}
    due = promises_of(day.due, present.at, numbers)
    older = [ticket for ticket in present.late if ticket.promise_day < chosen.day]
    past = promises_of(older, present.at, ()) if chosen.is_today else []
    at_risk = sum(promise.standing is Standing.RISK for promise in due)
    on_time = day.on_time
    return {
        "says": words.promises_found(on_time.rate.part, on_time.to_come, at_risk, on_time.missed),
        "line": promise_line(due, day.opening, present.at, past),
        "down": rows_down(due, past, present.at, chosen.is_today),
    }


def _work(present: NowFigures, today: date) -> dict[str, object] | None:
    """What waits at the stations; None in a shop that never opens."""
    work = present.work
    if work is None:
        return None
    fullest, rest = work.fullest, words.waiting_found(None)
    return {
        "title": words.waiting_title(work.against, today),
        "says": words.waiting_found(fullest.station, fullest.over) if fullest else rest,
        "over": bool(fullest),
        "bars": work_bars(work.stations),
        "next": words.carried_found(present.jammed, present.next_open) if present.next_open else "",
    }


def _to_settle(present: NowFigures) -> list[ToSettle]:
    return to_settle(
        present.late,
        present.at_risk,
        present.holds,
        len(present.holds_due),
        (present.unpaid_count, present.unpaid),
        present.unsent,
        present.expected,
        present.at,
    )


def _chosen(request: HttpRequest, now: datetime) -> _Chosen:
    """The day of ``?day=2026-11-25``; today where it is missing, unreadable or to come."""
    today = business_day(now)
    asked = request.GET.get("day", "").strip()
    if not asked:
        return _Chosen(today, today)
    try:
        day = date.fromisoformat(asked)
    except ValueError:
        return _Chosen(today, today, wording.no_day(asked[:40], today))
    if day > today or day.year < 2000:
        return _Chosen(today, today, wording.no_figures(day))
    return _Chosen(day, today)


urlpatterns = [
    path("owner/", owner_day, name="owner_day"),
    path("owner/quarter/", owner_quarter, name="owner_quarter"),
    path("owner/figures/<slug:figure>/", owner_figure, name="owner_figure"),
]
