"""When a ticket is expected, and what is told once a piece was stopped, sent on or sent back."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from tickets import wording
from tickets.choices import Station
from tickets.models import Piece
from tickets.promise.expected import Expected


def expected_words(expected: Expected | None, now: datetime) -> str:
    """When the ticket can be expected as things stand, and what takes longest until then."""
    if expected is None:
        return ""
    when = wording.promise_words(expected.at, now)
    if expected.hold is not None:
        return _("%(when)s, if its question is answered now") % {"when": when}
    if expected.holds_up not in Station.values:
        return when
    return _("%(when)s, held up most at %(station)s") % {
        "when": when,
        "station": Station(expected.holds_up).label,
    }


def now_held(piece: Piece) -> str:
    return _("%(piece)s is on hold.") % {"piece": piece.spoken}


def hold_ended(piece: Piece) -> str:
    return _("The hold of %(piece)s has ended; it waits at %(station)s.") % _place(piece)


def goes_back(piece: Piece) -> str:
    return _("%(piece)s goes back to %(station)s.") % _place(piece)


def goes_back_undone(piece: Piece) -> str:
    return _("%(piece)s goes back to the customer undone.") % {"piece": piece.spoken}


def _place(piece: Piece) -> dict[str, str]:
    return {"piece": piece.spoken, "station": piece.get_station_display()}
