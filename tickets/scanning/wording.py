"""What is said of a scanned line itself: where a card leads, and what could not be read."""

from __future__ import annotations

from django.utils.translation import gettext as _

from tickets.choices import Station


def to_board(station: Station) -> str:
    return _("To the board: %(name)s") % {"name": station.label}


def to_the_loads() -> str:
    return _("To the loads.")


def spoken_yes() -> str:
    """The word that answers a question with yes, as a person may type it."""
    return _("yes")


def spoken_no() -> str:
    return _("no")


def question_closed() -> tuple[str, str]:
    """A tap under a question that another window or tablet closed or replaced, and the cure."""
    return (
        _("That question is no longer open here. Nothing was done."),
        _("Scan the piece again, then answer."),
    )


def line_without_key(line: str) -> tuple[str, str]:
    """A line whose form lost its one-time key, and the cure."""
    says = _("%(line)s: the form came back without its one-time key.") % {"line": line or "–"}
    return says, _("Scan it once more.")


def line_too_long(line: str) -> tuple[str, str]:
    """``line``: its first 60 characters. With the cure."""
    says = _("%(line)s … is longer than 60 characters.") % {"line": line}
    return says, _("Scan a tag, or type its figures.")
