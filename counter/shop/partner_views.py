"""The owner's send-out partners."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from counter.shop.partner_forms import PartnerForm
from tickets.errors import Refused
from tickets.loads.bags import moment_words
from tickets.models import Partner, PartnerService
from tickets.models.shop import Weekday
from tickets.shop.calendar import ShopCalendar
from tickets.shop.queries import read_calendar
from tickets.shop.rounds import Round
from tickets.shop.services import save_partner

_get_or_post = require_http_methods(["GET", "POST"])


@_get_or_post
def shop_partners(request: HttpRequest) -> HttpResponse:
    """All partners with their days, and the form for one more."""
    form = PartnerForm(request.POST or None)
    status = 200
    if request.method == "POST":
        if form.is_valid() and _saved(form):
            messages.success(request, _("%(partner)s is set up.") % {"partner": form.instance.name})
            return redirect("shop_partners")
        status = 422
    calendar = read_calendar()
    rows = [_shown(each, calendar) for each in Partner.objects.order_by("-in_use", "name")]
    context = {"rows": rows, "form": form, "room": "shop", "part": "partners"}
    return render(request, "counter/shop/partners.html", context, status=status)


@_get_or_post
def shop_partner(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Partner, pk=pk)
    title, status = row.name, 200
    form = PartnerForm(request.POST or None, instance=row)
    if request.method == "POST":
        if form.is_valid() and _saved(form):
            messages.success(
                request,
                _("%(partner)s is saved. Its days count for new promises.") % {"partner": row.name},
            )
            return redirect("shop_partners")
        status = 422
    context = {"form": form, "title": title, "room": "shop", "part": "partner"}
    return render(request, "counter/shop/partner.html", context, status=status)


def _saved(form: PartnerForm) -> bool:
    try:
        save_partner(form.instance)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    return True


def _shown(partner: Partner, calendar: ShopCalendar) -> dict[str, object]:
    """The partner's days in words, and when a piece packed now would be back."""
    back = ""
    if partner.in_use:
        try:
            back = moment_words(Round.of(partner).back(timezone.now(), calendar.open_on))
        except Refused as no:
            back = str(no)
    return {
        "partner": partner,
        "services": [PartnerService(each).label for each in partner.services],
        "collected": _days(partner.collect_days),
        "returned": _days(partner.return_days),
        "back": back,
    }


def _days(weekdays: list[int]) -> str:
    if not weekdays:
        return _("every day the shop is open")
    return ", ".join(str(Weekday(day).label) for day in sorted(weekdays))


urlpatterns = [
    path("shop/partners/", shop_partners, name="shop_partners"),
    path("shop/partners/<int:pk>/", shop_partner, name="shop_partner"),
]
