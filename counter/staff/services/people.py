"""People who can sign in: with which role, by what name, and the token of their programs."""

from __future__ import annotations

from django.contrib.auth.models import Group, User
from rest_framework.authtoken.models import Token

from counter.models import StaffProfile
from counter.roles import ROLES
from tickets.writing import atomic_write


def make_role_groups(**_kwargs: object) -> None:
    """Make the three role groups where they are missing; runs after every migrate."""
    for name in ROLES:
        Group.objects.get_or_create(name=name)


def add_person(
    username: str, role: str, *, full_name: str = "", password: str = "", pin: str = ""
) -> User:
    """Make a member of staff with a role. Without a password only the PIN signs them in."""
    first, _, last = full_name.partition(" ")
    with atomic_write():
        user = User.objects.create_user(
            username, password=password or None, first_name=first, last_name=last
        )
        user.groups.add(Group.objects.get_or_create(name=role)[0])
        profile = StaffProfile(user=user)
        if pin:
            profile.set_pin(pin)
        profile.save()
    return user


def token_of(user: User) -> str:
    """The token by which a program works for this person, made at the first call."""
    token, _made = Token.objects.get_or_create(user=user)
    return str(token.key)
