"""Who may take over a shared tablet."""

from __future__ import annotations

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User

from counter.roles import ROLES


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
