"""The owner's settings: shop, opening and crews, prices and weights, people."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import cast

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from counter.models import Shop
from counter.roles import BACKROOM, COUNTER, OWNER
from counter.shop import queries, wording
from counter.shop import services as door
from counter.shop.forms import shop as shapes
from counter.shop.forms.prices import PriceSheet
from counter.shop.forms.weights import WeightSheet
from counter.site.trouble import here_or_404
from tickets.errors import Refused
from tickets.shop.services import set_weights
from tickets.tracking.wording import name_of

_get_or_post = require_http_methods(["GET", "POST"])


@_get_or_post
def shop_settings(request: HttpRequest) -> HttpResponse:
    shop = Shop.current()
    form = shapes.ShopForm(request.POST or None, instance=shop)
    if request.method == "POST":
        if form.is_valid():
            door.save_shop(form.instance)
            messages.success(request, wording.shop_saved())
            return redirect("shop_settings")
        # The page's head keeps the saved name.
        return _page(request, "shop", {"form": form, "shop": Shop.current()}, 422)
    return _page(request, "shop", {"form": form})


@_get_or_post
def shop_hours(request: HttpRequest) -> HttpResponse:
    """Opening hours, closed days and crews; ``what`` says which form was sent."""
    hours, crews, closed = shapes.hours_rows(), shapes.crew_rows(), shapes.ClosedDayForm()
    status = 200
    if request.method == "POST":
        what = request.POST.get("what", "")
        try:
            if what == "week":
                hours, crews = shapes.hours_rows(request.POST), shapes.crew_rows(request.POST)
                door.set_week(
                    shapes.read_hours(hours),
                    shapes.read_crews(crews),
                    shapes.read_crew_minutes(crews),
                )
                words = wording.week_saved()
            elif what == "close":
                closed = shapes.ClosedDayForm(request.POST)
                if not closed.is_valid():
                    return _hours_page(request, hours, crews, closed, 422)
                row = door.close_on(closed.cleaned_data["day"], closed.cleaned_data["note"])
                words = wording.closed_on(row.day)
            elif what == "open" and request.POST.get("id", "").isdecimal():
                door.open_again(int(request.POST["id"]))
                words = wording.opens_again()
            else:
                raise Refused("bad_form", _("The form was not complete."), _("Send it again."))
        except Refused as refusal:
            messages.error(request, str(refusal))
            status = 422
        else:
            messages.success(request, words)
            return redirect("shop_hours")
    return _hours_page(request, hours, crews, closed, status)


def _hours_page(
    request: HttpRequest,
    hours: list[shapes.DayRow],
    crews: list[shapes.CrewRow],
    closed: shapes.ClosedDayForm,
    status: int,
) -> HttpResponse:
    days = queries.closed_days_to_come()
    context = {"hours": hours, "crews": crews, "closed_form": closed, "closed_days": days}
    return _page(request, "hours", context, status)


@_get_or_post
def prices(request: HttpRequest) -> HttpResponse:
    shop = Shop.current()
    if request.method == "GET":
        return _prices_page(request, PriceSheet(shop))
    sheet = PriceSheet(shop, request.POST)
    wanted = sheet.read()
    if sheet.faults:
        return _prices_page(request, sheet, 422)
    messages.success(request, wording.prices_changed(door.save_prices(wanted)))
    return redirect("prices")


@_get_or_post
def shop_weights(request: HttpRequest) -> HttpResponse:
    """All kinds with the trade's figure and the shop's own."""
    sheet, status = WeightSheet(), 200
    if request.method == "POST":
        sheet = WeightSheet(request.POST)
        try:
            changed = set_weights(sheet.read())
        except Refused as refusal:
            messages.error(request, str(refusal))
            status = 422
        else:
            messages.success(request, wording.weights_changed(changed))
            return redirect("shop_weights")
    context = {"words": wording.weight_sheet(), "sections": sheet.sections, "part": "weights"}
    return _page(request, "sheet", context, status)


def _prices_page(request: HttpRequest, sheet: PriceSheet, status: int = 200) -> HttpResponse:
    context = {
        "words": wording.price_sheet(),
        "sections": sheet.sections,
        "faults": sheet.faults,
    }
    return _page(request, "sheet", {**context, "part": "prices"}, status)


@_get_or_post
def shop_staff(request: HttpRequest) -> HttpResponse:
    form = shapes.NewPersonForm(request.POST or None, initial={"role": COUNTER})
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid() and _tried(form, lambda: _take_on(form)):
            name = form.cleaned_data["full_name"]
            messages.success(request, wording.can_work_here(name))
            return redirect("shop_staff")
    people = queries.all_staff()
    return _page(
        request, "staff", {"form": form, "people": [_shown(user) for user in people]}, status
    )


@_get_or_post
def shop_person(request: HttpRequest, pk: int) -> HttpResponse:
    person = here_or_404(queries.person_with(pk))
    name = name_of(person)
    initial = {
        "full_name": name,
        "role": _role(person) or COUNTER,
        "active": person.is_active,
    }
    form = shapes.KnownPersonForm(request.POST or None, initial=initial)
    if request.method == "POST":
        if form.is_valid() and _tried(form, lambda: _change_person(request, person, form)):
            messages.success(request, wording.row_saved(name))
            return redirect("shop_staff")
        return _page(request, "person", {"form": form, "person": person}, 422)
    return _page(request, "person", {"form": form, "person": person})


def _take_on(form: shapes.PersonForm) -> None:
    door.take_on(cast("door.NewPerson", form.cleaned_data))


def _change_person(request: HttpRequest, person: User, form: shapes.PersonForm) -> None:
    assert isinstance(request.user, User)
    changed = door.change_person(person, by=request.user, **form.cleaned_data)
    if changed == request.user and form.cleaned_data["password"]:
        update_session_auth_hash(request, changed)


def _tried(form: shapes.PersonForm, do: Callable[[], None]) -> bool:
    try:
        do()
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    return True


def _role(person: User) -> str:
    """The strongest role a person holds; empty when they hold none."""
    held = {group.name for group in person.groups.all()}
    return next((role for role in (OWNER, COUNTER, BACKROOM) if role in held), "")


def _shown(person: User) -> dict[str, object]:
    names = dict(shapes.ROLE_NAMES)
    profile = getattr(person, "staff_profile", None)
    return {
        "user": person,
        "name": name_of(person),
        "role": names.get(_role(person), wording.no_role()),
        "has_pin": bool(profile and profile.pin_hash),
        "has_password": person.has_usable_password(),
    }


def _page(
    request: HttpRequest, name: str, context: Mapping[str, object], status: int = 200
) -> HttpResponse:
    context = {"room": "shop", "part": name, **context}
    return render(request, f"counter/shop/{name}.html", context, status=status)


urlpatterns = [
    path("shop/", shop_settings, name="shop_settings"),
    path("shop/hours/", shop_hours, name="shop_hours"),
    path("shop/prices/", prices, name="prices"),
    path("shop/weights/", shop_weights, name="shop_weights"),
    path("shop/staff/", shop_staff, name="shop_staff"),
    path("shop/staff/<int:pk>/", shop_person, name="shop_person"),
]
