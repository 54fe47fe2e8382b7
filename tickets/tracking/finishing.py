"""From the assembly table over the rack to the customer."""

from __future__ import annotations

from django.utils.translation import gettext as _

from tickets.choices import CLOSED_STATES, TRANSITIONS, MoveKind, PieceState, Station
from tickets.errors import Kind, Refused
from tickets.models import Move, Piece, RackPlace
from tickets.tracking.moving import (
    Act,
    Moved,
    already_done,
    last_seen,
    lock_piece,
    lock_ticket,
    part_of,
    settle,
    write_move,
)
from tickets.tracking.wording import (
    missing_at_assembly,
    must_be_here,
    name_missing,
    refuse_not_here,
)
from tickets.writing import atomic_write


def assemble(piece_code: str, act: Act) -> Moved:
    """Match a finished piece to its ticket at the assembly table."""
    with atomic_write():
        piece = lock_piece(piece_code)
        if repeated := already_done(act):
            return repeated
        if piece.state == PieceState.ASSEMBLED:
            raise Refused(
                "already_matched",
                _("%(piece)s is matched to its ticket already.") % {"piece": piece.spoken},
                _("Scan the next piece."),
            )
        must_be_here(piece, Station.ASSEMBLY)
        return write_move(piece, MoveKind.ASSEMBLED, act)


def complete_ticket(ticket_number: int, act: Act, part_reason: str = "") -> list[Moved]:
    """Close the count of a ticket and send its pieces to the rack.

    Refuses while a piece is missing, unless ``part_reason`` says why a part goes ahead; the
    ticket then stays unready until the rest is racked too.
    """
    with atomic_write():
        ticket = lock_ticket(ticket_number)
        if act.client_key:
            earlier = Move.objects.filter(client_key__startswith=f"{act.client_key}/")
            if known := list(earlier.select_related("piece__ticket")):
                return [Moved(move.piece, move, repeated=True) for move in known]
        missing = missing_at_assembly(ticket)
        if missing and not part_reason.strip():
            raise Refused("incomplete", *name_missing(ticket, missing))
        pieces = (
            ticket.pieces.select_for_update(of=("self",))
            .select_related("ticket", "rack_place")
            .filter(state=PieceState.ASSEMBLED, station=Station.ASSEMBLY)
        )
        moved = [
            write_move(
                piece,
                MoveKind.TICKET_COMPLETE,
                part_of(act, piece),
                to_station=Station.RACK,
                reason=part_reason.strip(),
            )
            for piece in pieces
        ]
        if not moved:
            raise Refused(
                "nothing_to_complete",
                _("Ticket %(ticket)s has no piece on the assembly table.")
                % {"ticket": ticket.number},
                _("Look at its pieces to see where they are."),
            )
        return moved


def rack(piece_code: str, place_code: str, act: Act) -> Moved:
    """Hang a piece at a place, or move it to another; the last one makes the ticket ready.

    A piece that hangs there already stays, and no second move is written.
    """
    with atomic_write():
        piece = lock_piece(piece_code)
        if repeated := already_done(act):
            return repeated
        place = _place(place_code)
        allowed_from, _to = TRANSITIONS[MoveKind.RACKED]
        at_rack = piece.station in (Station.RACK, Station.PICKUP)
        if not at_rack or piece.state not in allowed_from:
            refuse_not_here(piece, Station.RACK)
        if piece.state == PieceState.READY and piece.rack_place == place:
            return Moved(piece, last_seen(piece), repeated=True)
        moved = write_move(piece, MoveKind.RACKED, act, to_station=Station.PICKUP, place=place)
        settle(piece.ticket_id, act)
        return moved


def hand_over(piece_code: str, ticket_number: int, act: Act) -> Moved:
    """Give a ready piece to the customer. Called by pickup, which checks count and balance."""
    with atomic_write():
        piece = lock_piece(piece_code)
        if repeated := already_done(act):
            return repeated
        refuse_hand_over(piece, ticket_number)
        moved = write_move(piece, MoveKind.COLLECTED, act, place=None)
        settle(piece.ticket_id, act)
        return moved


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
        held = piece.holds.filter(ended_at__isnull=True).first()
        raise Refused(
            "held",
            _("%(piece)s is on hold: %(reason)s")
            % {"piece": piece.spoken, "reason": held.reason if held else ""},
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


def _place(code: str) -> RackPlace:
    place = RackPlace.objects.filter(code=code.strip().upper(), in_use=True).first()
    if place is None:
        raise Refused(
            "unknown_place",
            _("There is no rack place %(place)s.") % {"place": code.strip() or "–"},
            _("Scan the label on the rack, or ask the owner to add the place."),
            kind=Kind.NOT_FOUND,
        )
    return place
