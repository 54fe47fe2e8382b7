"""People with their roles, and who may take over a shared tablet."""

from __future__ import annotations

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from rest_framework.authtoken.models import Token

from counter.roles import ROLES, role_mark


def colleagues() -> list[User]:
    """Active staff who have a role and a PIN, by name."""
    return list(
        get_user_model()
        .objects.filter(is_active=True, groups__name__in=ROLES)
        .exclude(staff_profile__pin_hash="")
        .exclude(staff_profile__isnull=True)
        .distinct()
        .order_by("first_name", "username")
    )


_ROLES = ", ".join(
    f"EXISTS (SELECT 1 FROM auth_user_groups AS held JOIN auth_group ON auth_group.id = group_id "  # noqa: S608
    f"WHERE user_id = auth_user.id AND auth_group.name = '{role}') AS {role_mark(role)}"
    for role in ROLES
)
_BY_KEY = f"SELECT auth_user.*, {_ROLES} FROM auth_user WHERE id = %s"  # noqa: S608
_BY_TOKEN = (
    f"SELECT auth_user.*, {_ROLES} FROM auth_user "  # noqa: S608
    "JOIN authtoken_token ON user_id = auth_user.id WHERE key = %s"
)
"""Asked with every page and every call: as SQL at hand they cost a tenth of what it takes the
object-relational mapper to write them."""


def person_with_roles(pk: object) -> User | None:
    """One person with their roles, in one query."""
    return next(iter(User.objects.raw(_BY_KEY, [pk])), None)


def person_of_token(key: str) -> tuple[User, Token] | None:
    """The person whom a token of the API stands for, with their roles, in one query."""
    person = next(iter(User.objects.raw(_BY_TOKEN, [key])), None)
    return (person, Token(key=key, user=person)) if person else None
