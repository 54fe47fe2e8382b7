"""What stands round every request: what a page may load, who may open it, how it travels."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.middleware.gzip import GZipMiddleware
from django.shortcuts import render

from counter.roles import allowed, roles_for
from counter.site import wording
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


class CompressionMiddleware(GZipMiddleware):
    """Compresses pages and answers of the API; photos and papers are compressed in themselves.

    A compressed page could betray a secret by its length. None stands in a page twice the same:
    the form token is masked anew each time, and Django adds up to 100 random bytes.
    """

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> Any:
        if response.headers.get("Content-Type", "").startswith(("image/", "application/pdf")):
            return response
        return super().process_response(request, response)


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
        who = wording.opens_to(roles_for(name, request.method or "GET"))
        return render(request, "counter/site/not_allowed.html", {"who": who}, status=403)


def _is_empty(response: HttpResponseBase) -> bool:
    return isinstance(response, HttpResponse) and not response.content


def _only_for_forms(request: HttpRequest, refused: HttpResponseBase) -> HttpResponse:
    """Who reloads the address of a form, or comes back to it by sign-in, is led to its page."""
    facts = {"says": wording.takes_forms_only(), "target": page_above(request.path)}
    page = render(request, "counter/site/old_page.html", facts, status=405)
    page["Allow"] = refused["Allow"]
    return page
