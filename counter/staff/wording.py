"""What is told to who signs in."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from tickets.tracking.wording import name_of


def now_signed_in(person: User) -> str:
    return _("You are %(name)s now.") % {"name": name_of(person)}
