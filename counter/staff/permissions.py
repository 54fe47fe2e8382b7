"""The role table of ``counter.roles``, applied to the API."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from counter.roles import allowed

if TYPE_CHECKING:  # the framework reads this class while it makes its own views
    from rest_framework.views import APIView


class RolePermission(BasePermission):
    def has_permission(self, request: Request, view: APIView) -> bool:
        match = request.resolver_match
        return match is not None and allowed(
            request.user, match.view_name, method=request.method or "GET"
        )
