"""What every page knows: the shop's name and what this person may open."""

from __future__ import annotations

from django.http import HttpRequest

from counter.models import Shop
from counter.roles import roles_of


def shop(request: HttpRequest) -> dict[str, object]:
    return {"shop": Shop.current(), "my_roles": roles_of(request.user)}
