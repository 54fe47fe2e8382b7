"""PINs of a shared device: five wrong ones lock that person's PIN for ten minutes."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.translation import gettext as _

from counter.models import StaffProfile
from tickets.errors import Refused
from tickets.writing import atomic_write

MOST_FAILURES = 5
LOCKED_FOR = timedelta(minutes=10)


def check(user: User, pin: str) -> None:
    """Raise ``Refused`` unless the PIN is right; failures are counted and kept."""
    name = user.get_full_name() or user.get_username()
    with atomic_write():  # the refusal is raised after it, else the count would be rolled back
        profile = StaffProfile.objects.select_for_update().filter(user=user).first()
        now = timezone.now()
        if profile is None or not profile.pin_hash:
            refusal = Refused(
                "no_pin", _("%(name)s has no PIN.") % {"name": name}, _("Sign in by password.")
            )
        elif profile.locked_until and profile.locked_until > now:
            refusal = _locked(name, profile.locked_until)
        elif profile.pin_is(pin):
            profile.failed_pins, profile.locked_until = 0, None
            profile.save(update_fields=["failed_pins", "locked_until"])
            return
        else:
            profile.failed_pins += 1
            refusal = Refused("wrong_pin", _("That PIN is not right."), _("Type it again."))
            if profile.failed_pins >= MOST_FAILURES:
                profile.failed_pins, profile.locked_until = 0, now + LOCKED_FOR
                refusal = _locked(name, profile.locked_until)
            profile.save(update_fields=["failed_pins", "locked_until"])
    raise refusal


def _locked(name: str, until: datetime) -> Refused:
    return Refused(
        "pin_locked",
        _("The PIN of %(name)s is locked until %(when)s.")
        % {"name": name, "when": timezone.localtime(until).strftime("%H:%M")},
        _("Wait, or sign in by password."),
    )
