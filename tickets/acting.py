"""Who does it, from which device and when; what every door of the house is told."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING

from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

if TYPE_CHECKING:
    from django.http import HttpRequest
    from rest_framework.request import Request

BACK_ROOM, AT_THE_COUNTER = "back room", "counter"
"""What a page writes as the device of a move."""


@dataclass(frozen=True)
class Act:
    """Who does it, from which device, when, and the one-time key that makes it happen once.

    ``key_part`` tells the moves of one key apart: 0 for the move that the key was made for, else
    the number of the piece that moves with others.
    """

    by: User
    device: str = ""
    client_key: str | None = None
    at: datetime = field(default_factory=timezone.now)
    key_part: int = 0

    def for_piece(self, code: str) -> Act:
        """The same act on one of several pieces, by its ten digits."""
        return replace(self, key_part=int(code))


def act_of(request: HttpRequest | Request, device: str, client_key: str | None = None) -> Act:
    """The act of the signed-in person; the role gate lets nobody else this far."""
    assert isinstance(request.user, User)
    return Act(by=request.user, device=device, client_key=client_key)


def safe_next(request: HttpRequest, otherwise: str) -> str:
    """Where to go after a form: the page it came from when that is one of ours."""
    target = request.POST.get("next", "")
    return target if url_has_allowed_host_and_scheme(target, {request.get_host()}) else otherwise
