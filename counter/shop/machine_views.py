"""The owner's machines and programmes."""

from __future__ import annotations

from collections.abc import Callable

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from counter.shop.machine_forms import MachineForm, ProgrammeForm
from tickets.errors import Refused
from tickets.models import Machine, MachineKind, Programme
from tickets.models.machines import DRYING_PLACES, NO_DRUM, ONE_PERSON
from tickets.shop.services import save_machine, save_programme

_get_or_post = require_http_methods(["GET", "POST"])


@_get_or_post
def shop_machines(request: HttpRequest) -> HttpResponse:
    """All machines and programmes, and the form for one more machine."""
    form = MachineForm(request.POST or None)
    if request.method == "POST":
        if form.is_valid() and _saved(form, lambda: save_machine(form.instance)):
            words = {"machine": form.instance.name}
            messages.success(request, _("%(machine)s is set up.") % words)
            return redirect("shop_machines")
        return _page(request, "machines", {**_listed(), "form": form}, 422)
    return _page(request, "machines", {**_listed(), "form": form})


@_get_or_post
def shop_machine(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Machine, pk=pk)
    title = row.name
    form = MachineForm(request.POST or None, instance=row)
    if request.method == "POST":
        if form.is_valid() and _saved(form, lambda: save_machine(form.instance, form.chosen)):
            messages.success(request, _("%(machine)s is saved.") % {"machine": row.name})
            return redirect("shop_machines")
        return _page(request, "machine", {"form": form, "title": title}, 422)
    return _page(request, "machine", {"form": form, "title": title})


@_get_or_post
def shop_programme_new(request: HttpRequest, kind: str) -> HttpResponse:
    if kind not in MachineKind.values or kind in NO_DRUM:
        raise Http404(_("There is no kind of machine %(kind)s.") % {"kind": kind})
    return _programme(request, Programme(kind=kind), _("New programme"))


@_get_or_post
def shop_programme(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Programme, pk=pk)
    return _programme(request, row, row.name)


def _programme(request: HttpRequest, row: Programme, title: str) -> HttpResponse:
    form = ProgrammeForm(request.POST or None, instance=row)
    title = f"{MachineKind(row.kind).label}: {title}"
    if request.method == "POST":
        if form.is_valid() and _saved(form, lambda: save_programme(form.instance)):
            messages.success(request, _("Programme %(name)s is saved.") % {"name": row.name})
            return redirect("shop_machines")
        return _page(request, "machine", {"form": form, "title": title}, 422)
    return _page(request, "machine", {"form": form, "title": title})


def _saved(form: forms.BaseForm, save: Callable[[], object]) -> bool:
    try:
        save()
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    return True


def _listed() -> dict[str, object]:
    machines = list(Machine.objects.prefetch_related("programmes"))
    programmes = list(Programme.objects.all())
    kinds = [
        {
            "kind": kind,
            "has_programmes": kind not in NO_DRUM,
            "one_person": kind in ONE_PERSON,
            "dries": kind in DRYING_PLACES,
            "machines": [m for m in machines if m.kind == kind],
            "programmes": [p for p in programmes if p.kind == kind],
        }
        for kind in MachineKind
    ]
    return {"kinds": [each for each in kinds if each["machines"] or each["programmes"]]}


def _page(
    request: HttpRequest, name: str, context: dict[str, object], status: int = 200
) -> HttpResponse:
    context = {"room": "shop", "part": "machines", **context}
    return render(request, f"counter/shop/{name}.html", context, status=status)


urlpatterns = [
    path("shop/machines/", shop_machines, name="shop_machines"),
    path("shop/machines/<int:pk>/", shop_machine, name="shop_machine"),
    path("shop/programmes/<slug:kind>/new/", shop_programme_new, name="shop_programme_new"),
    path("shop/programmes/<int:pk>/", shop_programme, name="shop_programme"),
]
