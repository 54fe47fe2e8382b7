"""Days on which other people than usual are there."""

from __future__ import annotations

from decimal import Decimal

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from counter.shop.crew_forms import CrewDayForm
from tickets.choices import WORK_STATIONS, Station
from tickets.errors import Refused
from tickets.models import CrewDay, StationCrew
from tickets.shop.calendar import business_day
from tickets.shop.queries import crews_since
from tickets.shop.services import as_usual, set_crew_on

_LONGEST_KEY = 18
"""Digits of a row's key; a longer number is none, and may be too long to be read as one."""


@require_http_methods(["GET", "POST"])
def crew_days(request: HttpRequest) -> HttpResponse:
    """The days to come that have another crew, and the form for more of them."""
    form, status = CrewDayForm(initial={"first": business_day().isoformat()}), 200
    if request.method == "POST":
        row = request.POST.get("usual", "")
        if row.isdecimal() and len(row) <= _LONGEST_KEY:
            as_usual(int(row))
            messages.success(request, _("The usual crew counts again."))
            return redirect("crew_days")
        form, status = CrewDayForm(request.POST), 422
        if form.is_valid() and _saved(request, form):
            return redirect("crew_days")
    usual = crews_since(business_day()).usual
    context = {
        "form": form,
        "days": _days_to_come(),
        "stations": [(each.label, usual.get(each, 1.0)) for each in WORK_STATIONS],
        "room": "plan",
    }
    return render(request, "counter/shop/crew_days.html", context, status=status)


def _days_to_come() -> list[tuple[CrewDay, Decimal]]:
    """With the station's usual number beside that of the day."""
    usual = dict(StationCrew.objects.values_list("station", "people"))
    days = CrewDay.objects.filter(day__gte=business_day())
    return [(row, usual.get(row.station, Decimal(1))) for row in days]


def _saved(request: HttpRequest, form: CrewDayForm) -> bool:
    told = form.cleaned_data
    try:
        days = set_crew_on(
            Station(told["station"]), told["people"], told["first"], told["last"] or told["first"]
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    words = ngettext(
        "%(n)d day is set. It counts for new promises.",
        "%(n)d days are set. They count for new promises.",
        days,
    )
    messages.success(request, words % {"n": days})
    return True


urlpatterns = [path("plan/crew/", crew_days, name="crew_days")]
