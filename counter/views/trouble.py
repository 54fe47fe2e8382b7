"""What a person or a program is told when the shop's computer fails on a request."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

_API = "/api/"


def server_error(request: HttpRequest) -> HttpResponse:
    """An unforeseen fault: JSON in the shape of every API error, or a page with what to do.

    Asks the database nothing, since that may be what failed. The fault itself is in the log; the
    moment is told so that the owner finds it there.
    """
    at = date_format(timezone.localtime(), "j M, H:i:s")
    if request.path.startswith(_API):
        says = _("Something went wrong in the shop's computer, not in what you sent (%(at)s).")
        cure = _(
            "Send it once more, with the same key where it has one: nothing is done twice then. "
            "If it fails again, tell the owner this time."
        )
        answer = {"code": "server_error", "says": says % {"at": at}, "cure": cure}
        return JsonResponse(answer, status=500)
    return HttpResponse(render_to_string("500.html", {"at": at}), status=500)
