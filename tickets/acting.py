"""What the pages of the back room share: finding rows, and who acts."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.http import Http404, HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from tickets.models import Piece, Ticket
from tickets.tracking import queries
from tickets.tracking.services import Act

BACK_ROOM = "back room"


def act_of(request: HttpRequest, client_key: str | None = None) -> Act:
    """The act of the signed-in person; the role gate lets nobody else this far."""
    assert isinstance(request.user, User)
    return Act(by=request.user, device=BACK_ROOM, client_key=client_key)


def ticket_or_404(number: int) -> Ticket:
    ticket = Ticket.objects.select_related("customer", "opened_by").filter(number=number).first()
    if ticket is None:
        raise Http404(_("There is no ticket %(ticket)s.") % {"ticket": number})
    return ticket


def piece_or_404(code: str) -> Piece:
    found = queries.with_everything(Piece.objects.filter(code=code))
    piece = queries.with_open_load(found).first()
    if piece is None:
        raise Http404(_("There is no piece %(code)s.") % {"code": code})
    return piece


def safe_next(request: HttpRequest, otherwise: str) -> str:
    """Where to go after a form: the page it came from when that is one of ours."""
    target = request.POST.get("next", "")
    return target if url_has_allowed_host_and_scheme(target, {request.get_host()}) else otherwise
