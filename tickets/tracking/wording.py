"""Where a piece is, since when and with whom, in words for refusals and lists."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, NoReturn

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.errors import Refused
from tickets.models import Piece, Ticket
from tickets.tracking.moving import last_seen

if TYPE_CHECKING:
    from django.contrib.auth.models import User


def must_be_here(piece: Piece, station: Station) -> None:
    if piece.station != station or piece.state != PieceState.WAITING:
        refuse_not_here(piece, station)


def refuse_not_here(piece: Piece, station: Station) -> NoReturn:
    """Raise where the piece waits instead, since when, with whom, and what to do about it."""
    raise Refused("not_here", *_not_here(piece, station))


def _not_here(piece: Piece, station: Station) -> tuple[str, str]:
    """Where the piece waits, since when and with whom, and what to do about it."""
    seen = last_seen(piece)
    facts = {
        "piece": piece.spoken,
        "here": Station(station).label,
        "there": piece.get_station_display(),
        "when": say_when(seen.at),
        "who": name_of(seen.by),
    }
    if piece.state == PieceState.HELD:
        held = piece.holds.filter(ended_at__isnull=True).first()
        facts["reason"] = held.reason if held else ""
        return (
            _("%(piece)s is on hold since %(when)s (%(who)s): %(reason)s") % facts,
            _("End the hold on the page of the piece first."),
        )
    if piece.state in CLOSED_STATES:
        return (
            _("%(piece)s left the shop on %(when)s (%(who)s).") % facts,
            _("If it is here, ask at the counter to take it in again."),
        )
    if piece.state == PieceState.READY:
        facts["place"] = piece.rack_place.code if piece.rack_place else ""
        return (
            _("%(piece)s is ready and hangs at %(place)s since %(when)s (%(who)s).") % facts,
            _("Hang it back there, or send it back with a reason on its page."),
        )
    on_table = (piece.state, piece.station) == (PieceState.ASSEMBLED, Station.ASSEMBLY)
    if on_table and not missing_at_assembly(piece.ticket):
        return (
            _("%(piece)s lies on the assembly table, and nothing of its ticket is missing.")
            % facts,
            _("Scan it at Assembly once more: that sends the ticket to the rack."),
        )
    if on_table:
        return (
            _("%(piece)s is matched since %(when)s (%(who)s), but its ticket is not complete.")
            % facts,
            _("Leave it on the assembly table until the rest is there."),
        )
    return (
        _("%(piece)s does not wait at %(here)s but at %(there)s since %(when)s (%(who)s).") % facts,
        _("Take it to %(there)s.") % facts,
    )


def missing_at_assembly(ticket: Ticket) -> list[Piece]:
    """Open pieces of a ticket that have not been matched yet, in order."""
    return [
        piece
        for piece in ticket.pieces.order_by("position")
        if piece.is_open and piece.state not in (PieceState.ASSEMBLED, PieceState.READY)
    ]


def name_missing(ticket: Ticket, missing: Sequence[Piece]) -> tuple[str, str]:
    return (
        _("Ticket %(ticket)s is not complete. Missing: %(where)s.")
        % {"ticket": ticket.number, "where": "; ".join(map(say_where, missing))},
        _("Find the missing piece, or let a part go to the rack with a reason."),
    )


def say_where(piece: Piece) -> str:
    """Where a piece is and who had it last, for a list of what is missing."""
    seen = last_seen(piece)
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


def say_seen(piece: Piece) -> str:
    """When a piece was moved last, and by whom."""
    seen = last_seen(piece)
    return _("%(piece)s last seen %(when)s by %(who)s") % {
        "piece": piece.spoken,
        "when": say_when(seen.at),
        "who": name_of(seen.by),
    }


def say_when(at: datetime) -> str:
    """A moment in shop time, short: day, month, hour and minute."""
    return date_format(timezone.localtime(at), "j M, H:i")


def name_of(person: User) -> str:
    return person.get_full_name() or person.get_username()
