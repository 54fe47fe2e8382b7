"""Two small gates every request passes: what a page may load, and who may open it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit, urlunsplit

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render, resolve_url

from counter.roles import allowed

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
    """Lets a request through only when its URL's row in ``counter.roles`` names the user's role."""

    def __init__(self, get_response: _GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Any, args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        match = request.resolver_match
        name = match.view_name if match else ""
        if name.startswith(("admin:", "api:")):  # guarded by Django's admin and by RolePermission
            return None
        if allowed(request.user, name, method=request.method or "GET"):
            return None
        if not request.user.is_authenticated:
            target = redirect_to_login(_way_back(request))
            if not request.headers.get("HX-Request"):
                return target
            # A fragment must not show the sign-in page inside another page.
            return HttpResponse(status=204, headers={"HX-Redirect": target.url})
        return render(request, "counter/not_allowed.html", status=403)


def _way_back(request: HttpRequest) -> str:
    """The page to return to after signing in: never a fragment nor an address that takes only POST.

    A foreign address is refused by the sign-in page; home then stands in for it.
    """
    if request.headers.get("HX-Request"):
        page = request.headers.get("HX-Current-URL", "")
    elif request.method in ("GET", "HEAD"):
        return request.get_full_path()
    else:
        page = request.headers.get("Referer", "")
    parts = urlsplit(page)
    if parts.netloc != request.get_host():
        return resolve_url("home")
    return urlunsplit(("", "", parts.path or "/", parts.query, ""))
