"""Members of staff are taken on and changed; an owner always stays."""

from __future__ import annotations

from typing import TypedDict

from django.contrib.auth.models import Group, User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from counter.models import StaffProfile
from counter.roles import OWNER, ROLES
from counter.shop.queries import name_taken, owners
from counter.staff import services as staff
from tickets.errors import Refused
from tickets.tracking.wording import name_of
from tickets.writing import atomic_write


class NewPerson(TypedDict):
    """What the form for a new person tells; an empty text stands for nothing."""

    username: str
    role: str
    full_name: str
    password: str
    pin: str


def take_on(data: NewPerson) -> User:
    """A new member of staff, with a PIN, a password or both.

    Raises ``Refused`` for a name that is taken, for no way in, and for a weak password or PIN.
    """
    if name_taken(data["username"]):
        raise Refused(
            "name_taken",
            _("The sign-in name %(name)s is taken.") % {"name": data["username"]},
            _("Choose another one."),
        )
    if not data["password"] and not data["pin"]:
        raise Refused(
            "no_way_in",
            _("%(name)s would have no way to sign in.") % {"name": data["full_name"]},
            _("Set a PIN, a password, or both."),
        )
    if data["password"]:
        check_password_strength(data["password"], User(username=data["username"]))
    if data["pin"]:
        check_pin(StaffProfile(), data["pin"])
    return staff.add_person(
        data["username"],
        data["role"],
        full_name=data["full_name"],
        password=data["password"],
        pin=data["pin"],
    )


def change_person(
    user: User,
    *,
    full_name: str,
    role: str,
    active: bool,
    password: str = "",
    pin: str = "",
    by: User,
) -> User:
    """Change a member of staff; an empty password or PIN stays as it is. All or nothing.

    Raises ``Refused`` where nobody would be left as owner, where people would shut themselves
    out, and for a password or PIN that is too weak.
    """
    if role not in ROLES:
        raise Refused(
            "bad_role",
            _("%(role)s is no role.") % {"role": role or "–"},
            _("Choose one of: %(roles)s.") % {"roles": ", ".join(ROLES)},
        )
    with atomic_write():
        locked = User.objects.select_for_update().get(pk=user.pk)
        _check_owner_stays(locked, role, active, by)
        first, _gap, last = " ".join(full_name.split()).partition(" ")
        locked.first_name, locked.last_name, locked.is_active = first[:150], last[:150], active
        if password:
            check_password_strength(password, locked)
            locked.set_password(password)
        locked.save()
        locked.groups.remove(*Group.objects.filter(name__in=ROLES).exclude(name=role))
        locked.groups.add(Group.objects.get_or_create(name=role)[0])
        if pin:
            profile, _made = StaffProfile.objects.get_or_create(user=locked)
            check_pin(profile, pin)
            profile.failed_pins, profile.locked_until = 0, None
            profile.save()
    return locked


def check_password_strength(password: str, user: User) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise Refused(
            "weak_password", _("That password is too weak."), " ".join(error.messages)
        ) from error


def check_pin(profile: StaffProfile, pin: str) -> None:
    try:
        profile.set_pin(pin)
    except ValidationError as error:
        raise Refused("bad_pin", _("That PIN can't be used."), " ".join(error.messages)) from error


def _check_owner_stays(user: User, role: str, active: bool, by: User) -> None:
    if user == by and not active:
        raise Refused(
            "yourself",
            _("%(name)s, you can't shut yourself out.") % {"name": name_of(user)},
            _("Ask another owner to do it."),
        )
    loses = role != OWNER or not active
    if loses and [owner.pk for owner in owners()] == [user.pk]:
        raise Refused(
            "last_owner",
            _("%(name)s is the only owner.") % {"name": name_of(user)},
            _("Make somebody else an owner first."),
        )
