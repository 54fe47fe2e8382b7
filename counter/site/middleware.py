"""Two small gates every request passes: what a page may load, and who may open it."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _

from counter.roles import allowed
from counter.site.way_back import page_above, page_before

_GetResponse = Callable[[HttpRequest], HttpResponseBase]


class ContentSecurityPolicyMiddleware:
    """Sends the policy of ``settings.SECURE_CSP``; Django 6 brings the same setting itself."""

    def __init__(self, get_response: _GetResponse) -> None:
        self.get_response = get_response
        self.policy = "; ".join(
            f"{name} {' '.join(values)}" for name, values in settings.SECURE_CSP.items()
        )

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", self.policy)
        return response


class RoleMiddleware:
    """Lets a request through only when its URL's row in ``counter.roles`` names the user's role.

    No page that was asked for is kept by the browser: Back asks again, so it shows no piece that
    was taken off since and no price of before. The answer to a form is kept: there Back would
    offer to send the form once more.
    """

    def __init__(self, get_response: _GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if response.status_code == 405 and request.method == "GET" and _is_empty(response):
            response = _only_for_forms(request, response)
        is_page = response.headers.get("Content-Type", "").startswith("text/html")
        if is_page and request.method in ("GET", "HEAD"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    def process_view(
        self, request: HttpRequest, view: object, args: object, kwargs: object
    ) -> HttpResponseBase | None:
        match = request.resolver_match
        name = match.view_name if match else ""
        if name.startswith(("admin:", "api:")):  # guarded by Django's admin and by RolePermission
            return None
        if allowed(request.user, name, method=request.method or "GET"):
            return None
        if not request.user.is_authenticated:
            target = redirect_to_login(page_before(request))
            if not request.headers.get("HX-Request"):
                return target
            # A fragment must not show the sign-in page inside another page.
            return HttpResponse(status=204, headers={"HX-Redirect": target.url})
        return render(request, "counter/site/not_allowed.html", status=403)


def _is_empty(response: HttpResponseBase) -> bool:
    return isinstance(response, HttpResponse) and not response.content


def _only_for_forms(request: HttpRequest, refused: HttpResponseBase) -> HttpResponse:
    """Who reloads the address of a form, or comes back to it by sign-in, is led to its page."""
    says = _("This address only takes what a form sends. Go on from its page.")
    facts = {"says": says, "target": page_above(request.path)}
    page = render(request, "counter/site/old_page.html", facts, status=405)
    page["Allow"] = refused["Allow"]
    return page
