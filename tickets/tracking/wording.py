"""Where a piece is, since when and with whom, in words for refusals, answers and lists."""

from __future__ import annotations

import re
from datetime import datetime
from typing import TYPE_CHECKING

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from tickets.choices import PieceState
from tickets.models import Move, Piece

if TYPE_CHECKING:
    from django.contrib.auth.models import User

MOST_WORDS_IN_SHORT = 5
_FIRST_CLAUSE = re.compile(r"(?:[:;]|(?<=[.!?]))(?=\s)")


def say_where(piece: Piece, seen: Move) -> str:
    """Where a piece is and who had it last, for a list of what is missing."""
    return _("%(piece)s: %(state)s at %(station)s, last seen %(when)s by %(who)s") % {
        "piece": piece.spoken,
        "state": PieceState(piece.state).label,
        "station": piece.get_station_display(),
        "when": say_when(seen.at),
        "who": name_of(seen.by),
    }


def say_place(piece: Piece) -> str:
    """Where a piece is, short enough for the answer to a scan."""
    return _("%(piece)s: %(state)s at %(station)s") % {
        "piece": piece.spoken,
        "state": PieceState(piece.state).label,
        "station": piece.get_station_display(),
    }


def say_seen(piece: Piece, seen: Move) -> str:
    """When a piece was moved last, and by whom."""
    return _("%(piece)s last seen %(when)s by %(who)s") % {
        "piece": piece.spoken,
        "when": say_when(seen.at),
        "who": name_of(seen.by),
    }


def say_when(at: datetime) -> str:
    """A moment in shop time, short: day, month, hour and minute."""
    return date_format(timezone.localtime(at), "j M, H:i")


def came_without_key() -> str:
    """A button whose form lost its one-time key on the way."""
    return _("The form came back without its key. Try once more.")


def name_of(person: User) -> str:
    return person.get_full_name() or person.get_username()


def in_short(reason: str) -> str:
    """A reason as a list shows it: up to its first colon, semicolon or full stop, and a few words
    at most.

    >>> in_short("Zip on order: the right length comes on Friday.")
    'Zip on order'
    >>> in_short("Open the lining? Ask before the seam is cut")
    'Open the lining?'
    >>> in_short("Ask whether the lining may be opened")
    'Ask whether the lining may …'
    """
    words = _FIRST_CLAUSE.split(reason.strip())[0].split()
    if len(words) > MOST_WORDS_IN_SHORT:
        return " ".join(words[:MOST_WORDS_IN_SHORT]).rstrip(",") + " …"
    return " ".join(words).rstrip(".")
