"""The scan box that never closes: what it waits for and its last results, kept in the session."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _

from tickets.scanning import lines
from tickets.scanning.forms import ScanForm
from tickets.scanning.lines import Pending, Scanned

LAST_RESULTS = 5
MOST_BOXES = 24
_SESSION = "scan_boxes"


class ScanBox:
    """One box by name in one session. The boxes used last are kept, others are forgotten."""

    def __init__(self, request: HttpRequest, name: str) -> None:
        self._session = request.session
        self._name = str(name)
        stored = self._session.get(_SESSION, {}).get(self._name, {})
        self.results: list[dict[str, object]] = stored.get("results", [])
        self.pending = Pending.from_json(stored.get("pending"), timezone.now())

    def knows(self, key: str) -> bool:
        return any(result["key"] == key for result in self.results)

    def asked_before(self, about: str) -> bool:
        """Whether an answer was tapped under a question that is not the one open now."""
        return bool(about) and (self.pending is None or self.pending.about != about)

    def keep(self, result: Scanned, key: str) -> None:
        entry: dict[str, object] = {
            "tone": result.tone,
            "says": result.says,
            "cure": result.cure,
            "piece": result.piece,
            "ticket": result.ticket,
            "key": key,
            "at": timezone.localtime().strftime("%H:%M:%S"),
        }
        self.results = [entry, *self.results][:LAST_RESULTS]
        self.pending = result.pending
        boxes = self._session.get(_SESSION, {})
        boxes.pop(self._name, None)
        boxes[self._name] = {
            "results": self.results,
            "pending": self.pending.as_json() if self.pending else None,
        }
        self._session[_SESSION] = dict(list(boxes.items())[-MOST_BOXES:])


def stale(box: ScanBox) -> Scanned:
    """The answer to a tap under a question that another window or tablet closed or replaced."""
    return Scanned(
        lines.BAD,
        _("That question is no longer open here. Nothing was done."),
        _("Scan the piece again, then answer."),
        pending=box.pending,
        code="asked_before",
    )


def unreadable(form: ScanForm, box: ScanBox) -> Scanned:
    """The answer to a line that the form itself refuses."""
    line = str(form.data.get("line", ""))[:60]
    if "key" in form.errors:
        says = _("%(line)s: the form came back without its one-time key.") % {"line": line or "–"}
        return Scanned(lines.BAD, says, _("Scan it once more."), pending=box.pending)
    says = _("%(line)s … is longer than 60 characters.") % {"line": line}
    return Scanned(lines.BAD, says, _("Scan a tag, or type its figures."), pending=box.pending)


def go(request: HttpRequest, target: str) -> HttpResponse:
    """To another page, for a form post and for an htmx request alike."""
    if request.headers.get("HX-Request"):
        return HttpResponse(headers={"HX-Redirect": target})
    return redirect(target)
