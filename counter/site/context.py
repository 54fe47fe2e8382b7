"""What every page knows: the shop's name and what this person may open."""

from __future__ import annotations

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from counter.models import Shop
from counter.roles import roles_of


def shop(request: HttpRequest) -> dict[str, object]:
    """The shop is read when a page first shows something of it: the answer to a scan does not."""
    return {"shop": SimpleLazyObject(Shop.current), "my_roles": roles_of(request.user)}
