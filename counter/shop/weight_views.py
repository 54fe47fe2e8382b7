"""The owner's weights for each kind of piece."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from counter.shop import weight_forms as shapes
from tickets.errors import Refused
from tickets.shop.services import set_weights


@require_http_methods(["GET", "POST"])
def shop_weights(request: HttpRequest) -> HttpResponse:
    """All kinds with the trade's figure and the shop's own."""
    rows, status = shapes.weight_rows(), 200
    if request.method == "POST":
        rows = shapes.weight_rows(request.POST)
        try:
            changed = set_weights(shapes.read_weights(rows))
        except Refused as refusal:
            messages.error(request, str(refusal))
            status = 422
        else:
            words = ngettext("%(n)d weight changed.", "%(n)d weights changed.", changed)
            messages.success(request, words % {"n": changed})
            return redirect("shop_weights")
    context = {"groups": shapes.by_group(rows), "room": "shop", "part": "weights"}
    return render(request, "counter/shop/weights.html", context, status=status)


urlpatterns = [path("shop/weights/", shop_weights, name="shop_weights")]
