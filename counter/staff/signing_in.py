"""Who is asking: the person of a session or of a token, read together with their roles."""

from __future__ import annotations

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import User
from django.utils.translation import gettext_lazy as _
from rest_framework.authentication import TokenAuthentication
from rest_framework.authtoken.models import Token
from rest_framework.exceptions import AuthenticationFailed

from counter.staff import queries


class StaffBackend(ModelBackend):
    """Django's own way to check a password; a session's person comes with their roles."""

    def get_user(self, user_id: int) -> User | None:
        person = queries.person_with_roles(user_id)
        return person if person and self.user_can_authenticate(person) else None


class StaffTokenAuthentication(TokenAuthentication):
    """The framework's own token; its person comes with their roles."""

    def authenticate_credentials(self, key: str) -> tuple[User, Token]:
        known = queries.person_of_token(key)
        if known is None:
            raise AuthenticationFailed(_("Invalid token."))
        if not known[0].is_active:
            raise AuthenticationFailed(_("User inactive or deleted."))
        return known
