"""Who acts in a request, for the doors of the house and for the log."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.http import HttpRequest

from tickets.tracking.services import Act

AT_THE_COUNTER = "counter"


def acting(request: HttpRequest, client_key: str | None = None) -> Act:
    """The act of the signed-in person; role checks come first, so there always is one."""
    assert isinstance(request.user, User)
    return Act(by=request.user, device=AT_THE_COUNTER, client_key=client_key)
