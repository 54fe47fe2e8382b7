"""One page for every table of the shop, and one for every row that has a page of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import cast

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from counter.shop import services, wording
from counter.shop.forms.crews import CrewDayForm
from counter.shop.forms.machines import MachineForm, ProgrammeForm
from counter.shop.forms.partners import PartnerForm
from counter.shop.forms.places import PlacesForm
from counter.shop.shop_tables import ShopTable
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import Machine, MachineKind, Partner, Programme
from tickets.models.machines import NO_DRUM
from tickets.shop.calendar import business_day
from tickets.shop.services import (
    as_usual,
    save_machine,
    save_partner,
    save_programme,
    set_crew_on,
)

_LONGEST_KEY = 18
"""Digits of a row's key; a longer number is none, and may be too long to be read as one."""

_get_or_post = require_http_methods(["GET", "POST"])


# The pages


def _table_page(request: HttpRequest, table: ShopTable, here: str) -> HttpResponse:
    """The rows, and the form for one more. A row's button is sent by itself."""
    form, status = table.form(initial=dict(table.initial)), 200
    if request.method == "POST":
        form = table.form(request.POST)
        try:
            says = table.act(request.POST.dict())
            if says is None and form.is_valid():
                says = table.save(form)
        except Refused as refusal:
            form.full_clean()
            form.add_error(None, str(refusal))
            says = None
        if says is not None:
            messages.success(request, says)
            return redirect(here)
        status = 422
    context = {"table": table, "groups": table.groups(), "form": form}
    context |= {"room": table.room, "part": table.part}
    return render(request, "counter/shop/table.html", context, status=status)


def _row_page(
    request: HttpRequest,
    form: forms.BaseForm,
    save: Callable[[], str],
    *,
    title: str,
    part: str,
    note: str,
    back: str,
) -> HttpResponse:
    """One row in its form; saved, it leads back to its table."""
    status = 200
    if request.method == "POST":
        if form.is_valid():
            try:
                messages.success(request, save())
            except Refused as refusal:
                form.add_error(None, str(refusal))
            else:
                return redirect(back)
        status = 422
    context = {"form": form, "title": title, "note": note, "back": reverse(back)}
    context |= {"room": "shop", "part": part}
    return render(request, "counter/shop/row.html", context, status=status)


def _key(text: str) -> int | None:
    return int(text) if text.isdecimal() and len(text) <= _LONGEST_KEY else None


# Machines and programmes


@_get_or_post
def shop_machines(request: HttpRequest) -> HttpResponse:
    def save(form: forms.BaseForm) -> str:
        machine = save_machine(cast(MachineForm, form).instance)
        return _("%(machine)s is set up.") % {"machine": machine.name}

    table = ShopTable(
        part="machines",
        title=_("Machines"),
        form=MachineForm,
        groups=wording.machine_groups,
        save=save,
        add_title=_("Add a machine"),
        add_says=_("Add machine"),
        note=_(
            "The first machine of a kind brings the usual programmes with it; their minutes are "
            "trade figures. Correct them by your own clock."
        ),
    )
    return _table_page(request, table, "shop_machines")


@_get_or_post
def shop_machine(request: HttpRequest, pk: int) -> HttpResponse:
    machine = get_object_or_404(Machine, pk=pk)
    title = machine.name
    form = MachineForm(request.POST or None, instance=machine)

    def save() -> str:
        save_machine(form.instance, form.chosen)
        return _("%(machine)s is saved.") % {"machine": machine.name}

    return _row_page(
        request,
        form,
        save,
        title=title,
        part="machines",
        note=_counts_for_loads(),
        back="shop_machines",
    )


@_get_or_post
def shop_programme_new(request: HttpRequest, kind: str) -> HttpResponse:
    if kind not in MachineKind.values or kind in NO_DRUM:
        raise Http404(_("There is no kind of machine %(kind)s.") % {"kind": kind})
    return _programme_page(request, Programme(kind=kind), _("New programme"))


@_get_or_post
def shop_programme(request: HttpRequest, pk: int) -> HttpResponse:
    programme = get_object_or_404(Programme, pk=pk)
    return _programme_page(request, programme, programme.name)


def _programme_page(request: HttpRequest, programme: Programme, name: str) -> HttpResponse:
    form = ProgrammeForm(request.POST or None, instance=programme)

    def save() -> str:
        save_programme(form.instance)
        return _("Programme %(name)s is saved.") % {"name": programme.name}

    return _row_page(
        request,
        form,
        save,
        title=f"{MachineKind(programme.kind).label}: {name}",
        part="machines",
        note=_counts_for_loads(),
        back="shop_machines",
    )


def _counts_for_loads() -> str:
    return _(
        "It counts for loads from now on; loads that are closed keep what they were closed with."
    )


# Partners


@_get_or_post
def shop_partners(request: HttpRequest) -> HttpResponse:
    def save(form: forms.BaseForm) -> str:
        partner = save_partner(cast(PartnerForm, form).instance)
        return _("%(partner)s is set up.") % {"partner": partner.name}

    table = ShopTable(
        part="partners",
        title=_("Partners"),
        form=PartnerForm,
        groups=wording.partner_groups,
        save=save,
        add_title=_("Add a partner"),
        add_says=_("Add partner"),
        intro=_(
            "What the shop can't do itself goes out in bags. The care decision offers what "
            "partners in use take in, and promises count their days."
        ),
    )
    return _table_page(request, table, "shop_partners")


@_get_or_post
def shop_partner(request: HttpRequest, pk: int) -> HttpResponse:
    partner = get_object_or_404(Partner, pk=pk)
    title = partner.name
    form = PartnerForm(request.POST or None, instance=partner)

    def save() -> str:
        save_partner(form.instance)
        words = {"partner": partner.name}
        return _("%(partner)s is saved. Its days count for new promises.") % words

    return _row_page(
        request,
        form,
        save,
        title=title,
        part="partners",
        note=_("The days count for new promises. Tickets that are promised keep their promise."),
        back="shop_partners",
    )


# Rack places


@_get_or_post
def shop_places(request: HttpRequest) -> HttpResponse:
    def retire(sent: Mapping[str, str]) -> str | None:
        place_id = _key(sent.get("retire", ""))
        if place_id is None:
            return None
        place = services.retire_place(place_id)
        return _("%(place)s is out of use.") % {"place": place.code if place else ""}

    def save(form: forms.BaseForm) -> str:
        codes = services.add_places(form.cleaned_data["places"])
        if not codes:
            return _("These places were in use before.")
        return _("In use now: %(places)s.") % {"places": ", ".join(codes)}

    table = ShopTable(
        part="places",
        title=_("Rack places"),
        form=PlacesForm,
        groups=wording.place_groups,
        save=save,
        act=retire,
        add_title=_("Add places"),
        add_says=_("Add"),
        more=(reverse("tickets:paper_cards"), _("Print cards to scan")),
    )
    return _table_page(request, table, "shop_places")


# Days with another crew


@_get_or_post
def crew_days(request: HttpRequest) -> HttpResponse:
    def usual(sent: Mapping[str, str]) -> str | None:
        row_id = _key(sent.get("usual", ""))
        if row_id is None:
            return None
        as_usual(row_id)
        return _("The usual crew counts again.")

    def save(form: forms.BaseForm) -> str:
        crew = form.cleaned_data
        first, last = crew["first"], crew["last"] or crew["first"]
        days = set_crew_on(Station(crew["station"]), crew["people"], first, last)
        words = ngettext(
            "%(n)d day is set. It counts for new promises.",
            "%(n)d days are set. They count for new promises.",
            days,
        )
        return words % {"n": days}

    table = ShopTable(
        room="plan",
        part="",
        title=_("Who is there"),
        form=CrewDayForm,
        initial={"first": business_day().isoformat()},
        groups=wording.crew_day_groups,
        save=save,
        act=usual,
        add_title=_("Another crew on a day"),
        add_says=_("Save"),
        intro=_(
            "Somebody is ill or on leave, or comes to help: say how many are at the station then. "
            "New promises, the late list and the plan of the day reckon with it. Why somebody is "
            "away is nobody's business here."
        ),
        note=_("As many as usual takes a day off the list. Closed days are left out."),
        back=(reverse("plan"), _("Back to the plan of the day")),
    )
    return _table_page(request, table, "crew_days")


urlpatterns = [
    path("shop/machines/", shop_machines, name="shop_machines"),
    path("shop/machines/<int:pk>/", shop_machine, name="shop_machine"),
    path("shop/programmes/<slug:kind>/new/", shop_programme_new, name="shop_programme_new"),
    path("shop/programmes/<int:pk>/", shop_programme, name="shop_programme"),
    path("shop/partners/", shop_partners, name="shop_partners"),
    path("shop/partners/<int:pk>/", shop_partner, name="shop_partner"),
    path("shop/places/", shop_places, name="shop_places"),
    path("plan/crew/", crew_days, name="crew_days"),
]
