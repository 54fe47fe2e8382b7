"""Public holidays looked up by country and region, and taken over as closed days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from counter.models import Shop
from counter.shop import holidays, queries, wording
from counter.shop import services as door
from tickets.errors import Refused
from tickets.shop.calendar import business_day


@require_http_methods(["GET", "POST"])
def shop_holidays(request: HttpRequest) -> HttpResponse:
    """Choose a country and region, see the next twelve months, tick which days to take over."""
    asked = request.POST if request.method == "POST" else request.GET
    place, days = _place(asked.get("country", ""), asked.get("region", "")), []
    status = 200
    try:
        days = holidays.coming(place, business_day())
        if request.method == "POST":
            ticked = {day: name for day, name in days if day.isoformat() in asked.getlist("day")}
            if not ticked:
                raise Refused(
                    "no_day", _("No day was ticked."), _("Tick the days on which you are closed.")
                )
            new = door.close_on_all(ticked, place)
            messages.success(request, wording.closed_days_new(new))
            return redirect("shop_hours")
    except Refused as refusal:
        messages.error(request, str(refusal))
        status = 422
    return render(request, "counter/shop/holidays.html", _context(place, days), status=status)


def _place(country: str, region: str) -> str:
    """Country and region as asked; else what was taken over last, or the shop's country.

    A region of another country is dropped: it was chosen before the country changed.
    """
    shop = Shop.current()
    if not country:
        return shop.holidays_of or shop.country
    known = holidays.countries().get(country)
    if region and known and region in dict(known.regions):
        return f"{country}-{region}"
    return country


def _context(place: str, days: Sequence[tuple[date, str]]) -> dict[str, object]:
    country, _gap, region = place.partition("-")
    closed = queries.closed_days()
    open_on = set(queries.hours_by_weekday())
    known = holidays.countries()
    return {
        "room": "shop",
        "part": "holidays",
        "country": country,
        "region": region,
        "countries": known.values(),
        "regions": known[country].regions if country in known else (),
        "any_new": any(day not in closed for day, _name in days),
        "days": [
            {
                "day": day,
                "name": name,
                "taken": day in closed,
                "shut": day.weekday() not in open_on,
            }
            for day, name in days
        ],
    }


urlpatterns = [path("shop/holidays/", shop_holidays, name="shop_holidays")]
