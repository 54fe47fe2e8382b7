"""What a person or a program is told when a request fails outside every page and API view.

Under ``/api/`` all answers have the one shape of ``counter.site.api_errors``; elsewhere they are
pages.
The API's views check their sessions themselves, so a missing CSRF token has the shape already.
"""

from __future__ import annotations

from typing import TypeVar

from django.contrib import messages
from django.db.models import Model
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views import defaults
from rest_framework.exceptions import NotFound

from counter.site import wording
from counter.site.api_errors import plain
from counter.site.way_back import page_before

_Row = TypeVar("_Row", bound=Model)


class NotHere(Http404):
    """What a person looked for is gone; the page says so in these words."""


def here_or_404(row: _Row | None) -> _Row:
    """A row that was asked for, or the page "not found"."""
    if row is None:
        raise Http404
    return row


def _asks_the_api(request: HttpRequest) -> bool:
    return f"{request.path}/".startswith("/api/")


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """A request no view has seen, as one to a host name the shop does not answer to."""
    if not _asks_the_api(request):
        return defaults.bad_request(request, exception)
    says, cure = wording.request_unusable()
    return JsonResponse(plain(400, says, cure=cure), status=400)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """An address or a number that is not known."""
    if isinstance(exception, NotHere):
        return render(request, "404.html", {"says": str(exception)}, status=404)
    if not _asks_the_api(request):
        return defaults.page_not_found(request, exception)
    cure = wording.check_address(reverse("api:schema"))
    return JsonResponse(plain(404, str(NotFound.default_detail), cure=cure), status=404)


def old_page(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form of a page that was opened before somebody signed in or took over on this device.

    Its token is no longer good, and whoever works here now may be another person than the page
    says. So nothing is done under the wrong name: the page is opened anew.
    """
    says = wording.page_too_old()
    target = page_before(request)
    if request.headers.get("HX-Request"):
        messages.warning(request, says)
        return HttpResponse(status=204, headers={"HX-Redirect": target})
    return render(
        request, "counter/site/old_page.html", {"says": says, "target": target}, status=403
    )


def server_error(request: HttpRequest) -> HttpResponse:
    """An unforeseen fault: JSON in the shape of every API error, or a page with what to do.

    Asks the database nothing, since that may be what failed. The fault itself is in the log; the
    moment is told so that the owner finds it there.
    """
    at = date_format(timezone.localtime(), "j M, H:i:s")
    if _asks_the_api(request):
        says, cure = wording.went_wrong(at)
        return JsonResponse(plain(500, says, cure=cure), status=500)
    return HttpResponse(render_to_string("500.html", {"at": at}), status=500)
