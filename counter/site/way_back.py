"""The page somebody came from, and the page above an address that shows none."""

from __future__ import annotations

from urllib.parse import urlsplit, urlunsplit

from django.http import HttpRequest
from django.shortcuts import resolve_url
from django.urls import Resolver404, resolve


def page_before(request: HttpRequest) -> str:
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


def page_above(path: str) -> str:
    """The nearest known address above a path, as ``/intake/…/`` above ``/intake/…/open/``."""
    above = path.rstrip("/")
    while above:
        above = above.rpartition("/")[0]
        try:
            resolve(f"{above}/")
        except Resolver404:
            continue
        return f"{above}/"
    return "/"
