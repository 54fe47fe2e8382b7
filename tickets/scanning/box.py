"""The scan box that never closes: what it waits for and its last results.

Both are kept in a signed cookie of the page on which the box stands, good for one session: a scan
writes its move and nothing else, and without script the page still shows what came of it.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import astuple, dataclass, replace
from typing import TypeVar

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone

from care_rules import JsonObject
from tickets.scanning import wording
from tickets.scanning.forms import ScanForm
from tickets.scanning.results import ASK, BAD, GOOD, SAME, Pending, Scanned

LAST_RESULTS = 5
_MOST_CHARACTERS = 3600
"""What a browser keeps for one cookie is 4096 bytes, its name and path included."""

_KEPT_SECONDS = 12 * 60 * 60
_LONGEST_SHORTENED = 900

_SHAPES = {GOOD: "tick", BAD: "cross", ASK: "bang", SAME: "info"}

_Response = TypeVar("_Response", bound=HttpResponseBase)


@dataclass(frozen=True)
class ShownResult:
    """One result as the page shows it. ``key`` is the one-time key of its scan, or names it;
    ``head`` says of a refused one in a few words what was refused."""

    tone: str
    says: str
    cure: str
    piece: str
    key: str
    at: str
    head: str = ""

    @property
    def is_good(self) -> bool:
        return self.tone == GOOD

    @property
    def shape(self) -> str:
        """The drawn shape beside its word."""
        return _SHAPES[self.tone]


class ScanBox:
    """The box of one page in one session.

    ``page`` is the address of the page, ``scan`` the one that its lines are sent to.
    """

    def __init__(
        self,
        request: HttpRequest,
        name: str,
        *,
        page: str,
        scan: str,
        form: type[ScanForm] = ScanForm,
    ) -> None:
        self.page, self.scan = page, scan
        self._form = form
        self._cookie = f"scan-{name}"
        self._salt = f"{__name__}/{request.session.session_key}"
        stored = self._stored(request)
        self.results = [ShownResult(*row) for row in stored.get("results", ())]
        self.pending = Pending.from_json(stored.get("pending"), timezone.now())
        self.form = form()

    def take(
        self, sent: QueryDict, scan: Callable[[str, str, Pending | None], Scanned]
    ) -> Scanned | None:
        """Do what a sent line asks for and keep what came of it; None for a line done before, and
        where a result is put away that was seen.

        ``scan`` is called with the line, its one-time key and the open question.
        """
        if seen := sent.get("seen"):
            self.results = [result for result in self.results if result.key != seen]
            return None
        form = self._form(sent)
        if not form.is_valid():
            return self.keep(_unreadable(form, self.pending), key="")
        if self._knows(form.once):
            return None
        if self._asked_before(sent.get("about", "")):
            return self.keep(_stale(self.pending), form.once)
        return self.keep(scan(form.cleaned_data["line"], form.once, self.pending), form.once)

    def keep(self, result: Scanned, key: str) -> Scanned:
        """A result to show here, once for each key. One that leads to another page is not kept,
        and closes the question that was open."""
        if result.go_to:
            self.pending = None
        if result.go_to or self._knows(key):
            return result
        at = timezone.localtime().strftime("%H:%M:%S")
        name = key or uuid.uuid4().hex
        head = wording.refused_words(result.code) if result.tone == BAD else ""
        shown = ShownResult(result.tone, result.says, result.cure, result.piece, name, at, head)
        self.results = _kept([shown, *self.results])
        self.pending = result.pending
        return result

    def kept_in(self, response: _Response) -> _Response:
        """The response, bearing what the box keeps."""
        response.set_cookie(
            self._cookie,
            self._signed(),
            max_age=_KEPT_SECONDS,
            path=self.page,
            secure=settings.SESSION_COOKIE_SECURE,
            httponly=True,
            samesite="Lax",
        )
        return response

    def forgotten_in(self, response: _Response) -> _Response:
        """The response, making the browser forget what the box kept."""
        response.delete_cookie(self._cookie, path=self.page, samesite="Lax")
        return response

    def _knows(self, key: str) -> bool:
        return bool(key) and any(result.key == key for result in self.results)

    def _asked_before(self, about: str) -> bool:
        """Whether an answer was tapped under a question that is not the one open now."""
        return bool(about) and (self.pending is None or self.pending.about != about)

    def _stored(self, request: HttpRequest) -> JsonObject:
        try:
            stored: JsonObject = signing.loads(
                request.COOKIES.get(self._cookie, ""), salt=self._salt, max_age=_KEPT_SECONDS
            )
        except signing.BadSignature:  # none, an old one, or one of another session
            return {}
        return stored

    def _signed(self) -> str:
        """What the cookie holds: as many of the results as fit, a single long one shortened."""
        fewer = [self.results]
        while len(fewer[-1]) > 1:
            fewer.append(_without_one(fewer[-1]))
        if self.results:
            fewer.append([_shortened(self.results[0])])
        pending = self.pending.as_json() if self.pending else None
        signed = ""
        for results in (*fewer, []):
            kept = {"results": [astuple(result) for result in results], "pending": pending}
            signed = signing.dumps(kept, salt=self._salt, compress=True)
            if len(signed) <= _MOST_CHARACTERS:
                break
        return signed


def _kept(results: list[ShownResult]) -> list[ShownResult]:
    """The last results, newest first."""
    while len(results) > LAST_RESULTS:
        results = _without_one(results)
    return results


def _without_one(results: list[ShownResult]) -> list[ShownResult]:
    """Without the oldest: what was refused stays until it was seen, longer than what went well."""
    going = [place for place in range(1, len(results)) if results[place].tone != BAD]
    gone = going[-1] if going else len(results) - 1
    return results[:gone] + results[gone + 1 :]


def _shortened(result: ShownResult) -> ShownResult:
    says, cure = result.says[:_LONGEST_SHORTENED], result.cure[:_LONGEST_SHORTENED]
    return replace(result, says=says, cure=cure)


def _stale(pending: Pending | None) -> Scanned:
    """The answer to a tap under a question that another window or tablet closed or replaced."""
    return Scanned(BAD, *wording.question_closed(), pending=pending, code="asked_before")


def _unreadable(form: ScanForm, pending: Pending | None) -> Scanned:
    """The answer to a line that the form itself refuses."""
    line = str(form.data.get("line", ""))[:60]
    says = wording.line_without_key if "key" in form.errors else wording.line_too_long
    return Scanned(BAD, *says(line), pending=pending)


def go(request: HttpRequest, target: str) -> HttpResponse:
    """To another page, for a form post and for an htmx request alike."""
    if request.headers.get("HX-Request"):
        return HttpResponse(headers={"HX-Redirect": target})
    return redirect(target)
