"""Why a piece may not do what is asked of it: raised with where it is instead, and the cure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NoReturn

from django.utils.translation import gettext as _

from tickets.choices import CLOSED_STATES, TRANSITIONS, MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.models import Piece, Ticket
from tickets.tracking import queries
from tickets.tracking.wording import name_of, say_when, say_where


def must_follow(piece: Piece, kind: MoveKind) -> None:
    """Raise why this kind of move may not follow the state of the piece, if it may not."""
    if piece.state in TRANSITIONS[kind][0]:
        return
    if piece.state == PieceState.HELD:
        cure = _("End the hold on the page of the piece first.")
    elif piece.state in CLOSED_STATES:
        cure = _("It has left the shop. If it is here, ask at the counter to take it in again.")
    else:
        cure = _("Look at its page: somebody may have changed it meanwhile.")
    raise Refused(
        "wrong_state",
        _("%(piece)s is %(state)s at %(station)s, so this cannot be done: %(what)s.")
        % {
            "piece": piece.spoken,
            "state": PieceState(piece.state).label,
            "station": piece.get_station_display(),
            "what": kind.label,
        },
        cure,
    )


def must_be_here(piece: Piece, station: Station) -> None:
    """Raise where the piece is unless it waits at this station."""
    if piece.station != station or piece.state != PieceState.WAITING:
        refuse_not_here(piece, station)


def refuse_not_here(piece: Piece, station: Station) -> NoReturn:
    """Raise where the piece waits instead, since when, with whom, and what to do about it."""
    raise Refused("not_here", *_not_here(piece, station))


def _not_here(piece: Piece, station: Station) -> tuple[str, str]:
    seen = queries.last_seen(piece)
    facts = {
        "piece": piece.spoken,
        "here": Station(station).label,
        "there": piece.get_station_display(),
        "when": say_when(seen.at),
        "who": name_of(seen.by),
    }
    if piece.state == PieceState.HELD:
        facts["reason"] = queries.reason_held(piece)
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
    if on_table and not queries.missing_at_assembly(piece.ticket):
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


def incomplete(ticket: Ticket, missing: Sequence[Piece]) -> Refused:
    """The refusal to send a ticket to the rack while pieces of it are elsewhere."""
    where = "; ".join(say_where(piece, queries.last_seen(piece)) for piece in missing)
    return Refused(
        "incomplete",
        _("Ticket %(ticket)s is not complete. Not ready: %(where)s.")
        % {"ticket": ticket.number, "where": where},
        _("Bring what is not ready, or let a part go to the rack with a reason."),
    )


def refuse_hand_over(piece: Piece, ticket_number: int) -> None:
    """Raise the reason why this piece may not leave on this ticket, if there is one."""
    if piece.ticket.number != ticket_number:
        raise Refused(
            "other_ticket",
            _("%(piece)s belongs to ticket %(other)s, not to %(ticket)s.")
            % {"piece": piece.spoken, "other": piece.ticket.number, "ticket": ticket_number},
            _("Put it back and look for the right piece."),
        )
    if piece.state == PieceState.HELD:
        raise Refused(
            "held",
            _("%(piece)s is on hold: %(reason)s")
            % {"piece": piece.spoken, "reason": queries.reason_held(piece)},
            _("End the hold first, or hand over the rest."),
        )
    if piece.state in CLOSED_STATES:
        raise Refused(
            "gone",
            _("%(piece)s has already left the shop.") % {"piece": piece.spoken},
            _("Its history shows when and with whom."),
        )
    if piece.state != PieceState.READY:
        raise Refused(
            "unfinished",
            _("%(piece)s is not finished: it waits at %(station)s.")
            % {"piece": piece.spoken, "station": piece.get_station_display()},
            _("Finish it, or hand over the rest and leave this one."),
        )
