"""What is wrong with an intake that the API was sent, beside its facts: each said as its cure."""

from __future__ import annotations

from django.utils.translation import gettext as _


def owner_alone_knows() -> str:
    return _("Only the owner may record that a maker's finish is known.")


def washes_not_counted() -> str:
    return _("Its washes are not counted: leave this out, or say what protective clothing it is.")


def no_such_piece() -> str:
    """The number of an earlier visit that no piece has."""
    return _("No piece has this number: read the tag again, or leave it out.")
