"""The owner's settings: shop, opening and crews, prices and weights, people."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypedDict, cast

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from counter.models import Shop, StaffProfile
from counter.roles import BACKROOM, COUNTER, OWNER
from counter.shop import services as door
from counter.shop.forms import shop as shapes
from counter.shop.forms.prices import PriceSheet
from counter.shop.forms.weights import WeightSheet
from counter.staff import services as staff
from tickets.errors import Refused
from tickets.models import ClosedDay
from tickets.shop.calendar import business_day
from tickets.shop.services import set_weights
from tickets.tracking.wording import name_of
from tickets.writing import atomic_write

_get_or_post = require_http_methods(["GET", "POST"])


@_get_or_post
def shop_settings(request: HttpRequest) -> HttpResponse:
    shop = Shop.current()
    form = shapes.ShopForm(request.POST or None, instance=shop)
    if request.method == "POST":
        if form.is_valid():
            with atomic_write():
                form.save()
            messages.success(request, _("The shop's settings are saved."))
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
            if what == "hours":
                hours = shapes.hours_rows(request.POST)
                door.set_hours(shapes.read_hours(hours))
                words = _("Opening hours are saved. They count for new promises.")
            elif what == "crews":
                crews = shapes.crew_rows(request.POST)
                door.set_crews(shapes.read_crews(crews), shapes.read_crew_minutes(crews))
                words = _("Crews are saved. They count for new promises.")
            elif what == "close":
                closed = shapes.ClosedDayForm(request.POST)
                if not closed.is_valid():
                    return _hours_page(request, hours, crews, closed, 422)
                row = door.close_on(closed.cleaned_data["day"], closed.cleaned_data["note"])
                words = _("Closed on %(day)s.") % {"day": row.day.isoformat()}
            elif what == "open" and request.POST.get("id", "").isdecimal():
                door.open_again(int(request.POST["id"]))
                words = _("The closed day is off the list.")
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
    days: QuerySet[ClosedDay] = ClosedDay.objects.filter(day__gte=business_day())
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
    changed = door.save_prices(wanted)
    messages.success(
        request,
        ngettext("%(count)d price changed.", "%(count)d prices changed.", changed)
        % {"count": changed}
        + " "
        + _("Tickets keep the prices they were opened with."),
    )
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
            words = ngettext("%(n)d weight changed.", "%(n)d weights changed.", changed)
            messages.success(request, words % {"n": changed})
            return redirect("shop_weights")
    context = {
        "title": _("Weights"),
        "intro": _(
            "What a piece of each kind weighs, dry. The scale at intake wins; without it your own "
            "figure counts, and where you give none the trade's figure, which stands in the field "
            "in grey. Pieces that are in the shop keep the weight they came with."
        ),
        "note": _(
            "The trade's figures are estimates, good to a quarter more or less: cloth weight for "
            "the area (common trade practice)."
        ),
        "save": _("Save weights"),
        "sections": sheet.sections,
    }
    return _page(request, "sheet", {**context, "part": "weights"}, status)


def _prices_page(request: HttpRequest, sheet: PriceSheet, status: int = 200) -> HttpResponse:
    context = {
        "title": _("Prices"),
        "intro": _(
            "An empty field takes the price of “any other kind”, which stands in it in grey. Where "
            "neither is set, the counter has to type a price for each piece."
        ),
        "save": _("Save prices"),
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
        if form.is_valid() and _tried(
            form, lambda: _add_person(cast("NewPerson", form.cleaned_data))
        ):
            name = form.cleaned_data["full_name"]
            messages.success(request, _("%(name)s can work here now.") % {"name": name})
            return redirect("shop_staff")
    people = User.objects.order_by("-is_active", "first_name", "username")
    people = people.prefetch_related("groups").select_related("staff_profile")
    return _page(
        request, "staff", {"form": form, "people": [_shown(one) for one in people]}, status
    )


@_get_or_post
def shop_person(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User.objects.prefetch_related("groups"), pk=pk)
    initial = {
        "full_name": name_of(person),
        "role": _role(person) or COUNTER,
        "active": person.is_active,
    }
    form = shapes.KnownPersonForm(request.POST or None, initial=initial)
    if request.method == "POST":
        if form.is_valid() and _tried(form, lambda: _change_person(request, person, form)):
            messages.success(request, _("%(name)s is saved.") % {"name": initial["full_name"]})
            return redirect("shop_staff")
        return _page(request, "person", {"form": form, "person": person}, 422)
    return _page(request, "person", {"form": form, "person": person})


class NewPerson(TypedDict):
    """What the form for a new person tells; an empty text stands for nothing."""

    username: str
    role: str
    full_name: str
    password: str
    pin: str


def _add_person(data: NewPerson) -> None:
    if User.objects.filter(username__iexact=data["username"]).exists():
        raise Refused(
            "name_taken",
            _("The sign-in name %(name)s is taken.") % {"name": data["username"]},
            _("Choose another one."),
        )
    if not data["password"] and not data["pin"]:
        raise Refused(
            "no_way_in",
            _("%(name)s would have no way to sign in.") % {"name": data["full_name"]},
            _("Set a PIN, a password, or both."),
        )
    if data["password"]:
        door.check_password_strength(data["password"], User(username=data["username"]))
    if data["pin"]:
        door.check_pin(StaffProfile(), data["pin"])
    staff.add_person(
        data["username"],
        data["role"],
        full_name=data["full_name"],
        password=data["password"],
        pin=data["pin"],
    )


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
        "role": names.get(_role(person), _("no role")),
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
