"""What is wrong with a value that the API was sent, in the words of its cure."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _


def unknown_here(known: Iterable[str]) -> str:
    """A name that was sent and is not known."""
    return _("Unknown here. Known are: %(names)s.") % {"names": ", ".join(known)}


def known_are(choices: Iterable[str]) -> str:
    """Follows the framework's sentence on a value that is no choice."""
    return _("Known are: %(names)s.") % {"names": ", ".join(choices)}
