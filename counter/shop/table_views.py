"""One page for every table of the shop, and one for every row that has a page of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, cast

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from counter.shop import queries, services, wording
from counter.shop.forms.crews import CrewDayForm
from counter.shop.forms.machines import MachineForm, ProgrammeForm
from counter.shop.forms.partners import PartnerForm
from counter.shop.forms.places import PlacesForm
from counter.shop.shop_tables import RowGroup, ShopTable, in_tables
from counter.shop.wording import table_rows
from counter.site.trouble import here_or_404
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import Machine, MachineKind, Partner, Programme
from tickets.models.machines import NO_DRUM
from tickets.shop.calendar import business_day
from tickets.shop.queries import all_programmes, crews_since, read_calendar
from tickets.shop.services import (
    as_usual,
    save_machine,
    save_partner,
    save_programme,
    set_crew_on,
)

_LONGEST_KEY = 18
"""Digits of a row's key; a longer number is none, and may be too long to be read as one."""

_Row = Machine | Programme | Partner

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
                says = table.keep(form)
        except Refused as refusal:
            form.full_clean()
            form.add_error(None, str(refusal))
            says = None
        if says is not None:
            messages.success(request, says)
            return redirect(here)
        status = 422
    context = {"table": table, "row_tables": in_tables(table.groups()), "form": form}
    context |= {"room": table.room, "part": table.part}
    return render(request, "counter/shop/table.html", context, status=status)


def _row_page(
    request: HttpRequest,
    form: forms.BaseForm,
    save: Callable[[], _Row],
    saved: Callable[[str], str],
    *,
    title: str,
    part: str,
    note: str,
) -> HttpResponse:
    """One row in its form; saved, it leads back to the table of its part.

    ``saved`` says it then, given the row's name.
    """
    back = f"shop_{part}"
    status = 200
    if request.method == "POST":
        if form.is_valid():
            try:
                messages.success(request, saved(save().name))
            except Refused as refusal:
                form.add_error(None, str(refusal))
            else:
                return redirect(back)
        status = 422
    context = {"form": form, "title": title, "note": note, "back": reverse(back)}
    context |= {"room": "shop", "part": part}
    return render(request, "counter/shop/row.html", context, status=status)


def _new_row(save: Callable[[Any], _Row]) -> Callable[[forms.BaseForm], str]:
    """The door of one more row: saves what the form made, and says its name."""

    def save_new(form: forms.BaseForm) -> str:
        return wording.set_up(save(cast("forms.ModelForm[Any]", form).instance).name)

    return save_new


def _key(text: str) -> int | None:
    return int(text) if text.isdecimal() and len(text) <= _LONGEST_KEY else None


# Machines and programmes


def _machine_groups() -> Sequence[RowGroup]:
    return table_rows.machine_groups(list(queries.machines()), list(all_programmes()))


@_get_or_post
def shop_machines(request: HttpRequest) -> HttpResponse:
    table = ShopTable(
        part="machines",
        words=wording.machine_table(),
        form=MachineForm,
        groups=_machine_groups,
        keep=_new_row(save_machine),
    )
    return _table_page(request, table, "shop_machines")


@_get_or_post
def shop_machine(request: HttpRequest, pk: int) -> HttpResponse:
    machine = here_or_404(queries.machine_with(pk))
    title = machine.name
    form = MachineForm(request.POST or None, instance=machine)
    return _row_page(
        request,
        form,
        lambda: save_machine(form.instance, form.chosen),
        wording.row_saved,
        title=title,
        part="machines",
        note=wording.counts_for_loads(),
    )


@_get_or_post
def shop_programme_new(request: HttpRequest, kind: str) -> HttpResponse:
    if kind not in MachineKind.values or kind in NO_DRUM:
        raise Http404(_("There is no kind of machine %(kind)s.") % {"kind": kind})
    return _programme_page(request, Programme(kind=kind), wording.new_programme())


@_get_or_post
def shop_programme(request: HttpRequest, pk: int) -> HttpResponse:
    programme = here_or_404(queries.programme_with(pk))
    return _programme_page(request, programme, programme.name)


def _programme_page(request: HttpRequest, programme: Programme, name: str) -> HttpResponse:
    form = ProgrammeForm(request.POST or None, instance=programme)
    return _row_page(
        request,
        form,
        lambda: save_programme(form.instance),
        wording.programme_saved,
        title=f"{MachineKind(programme.kind).label}: {name}",
        part="machines",
        note=wording.counts_for_loads(),
    )


# Partners


def _partner_groups() -> Sequence[RowGroup]:
    return table_rows.partner_groups(queries.partners(), read_calendar(), timezone.now())


@_get_or_post
def shop_partners(request: HttpRequest) -> HttpResponse:
    table = ShopTable(
        part="partners",
        words=wording.partner_table(),
        form=PartnerForm,
        groups=_partner_groups,
        keep=_new_row(save_partner),
    )
    return _table_page(request, table, "shop_partners")


@_get_or_post
def shop_partner(request: HttpRequest, pk: int) -> HttpResponse:
    partner = here_or_404(queries.partner_with(pk))
    title = partner.name
    form = PartnerForm(request.POST or None, instance=partner)
    return _row_page(
        request,
        form,
        lambda: save_partner(form.instance),
        wording.partner_saved,
        title=title,
        part="partners",
        note=wording.counts_for_promises(),
    )


# Rack places


@_get_or_post
def shop_places(request: HttpRequest) -> HttpResponse:
    def retire(sent: Mapping[str, str]) -> str | None:
        place_id = _key(sent.get("retire", ""))
        if place_id is None:
            return None
        place = services.retire_place(place_id)
        return wording.place_retired(place.code if place else "")

    def keep(form: forms.BaseForm) -> str:
        return wording.places_added(services.add_places(form.cleaned_data["places"]))

    table = ShopTable(
        part="places",
        words=wording.place_table(),
        form=PlacesForm,
        groups=lambda: table_rows.place_groups(queries.places()),
        keep=keep,
        act=retire,
        more=reverse("tickets:paper_cards"),
    )
    return _table_page(request, table, "shop_places")


# Days with another crew


def _crew_day_groups() -> Sequence[RowGroup]:
    usual = crews_since(business_day()).usual
    return table_rows.crew_day_groups(queries.crew_days_to_come(), usual)


@_get_or_post
def crew_days(request: HttpRequest) -> HttpResponse:
    def usual(sent: Mapping[str, str]) -> str | None:
        row_id = _key(sent.get("usual", ""))
        if row_id is None:
            return None
        as_usual(row_id)
        return wording.usual_crew_again()

    def keep(form: forms.BaseForm) -> str:
        crew = form.cleaned_data
        first, last = crew["first"], crew["last"] or crew["first"]
        days = set_crew_on(Station(crew["station"]), crew["people"], first, last)
        return wording.crew_set(days)

    table = ShopTable(
        room="plan",
        part="",
        words=wording.crew_day_table(),
        form=CrewDayForm,
        initial={"first": business_day().isoformat()},
        groups=_crew_day_groups,
        keep=keep,
        act=usual,
        back=reverse("plan"),
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
