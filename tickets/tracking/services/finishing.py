"""From the assembly table over the rack to the customer."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import TRANSITIONS, MoveKind, PieceState, Station
from tickets.errors import Kind, Refused
from tickets.models import Move, RackPlace, Ticket
from tickets.tracking import queries
from tickets.tracking.refusals import incomplete, must_be_here, refuse_hand_over, refuse_not_here
from tickets.tracking.services.moving import (
    Moved,
    lock_piece,
    lock_ticket,
    move_once,
    settle,
    write_move,
)
from tickets.writing import atomic_write


def assemble(piece_code: str, act: Act) -> Moved:
    """Match a finished piece to its ticket at the assembly table."""

    def move() -> Moved:
        piece = lock_piece(piece_code)
        if piece.state == PieceState.ASSEMBLED:
            raise Refused(
                "already_matched",
                _("%(piece)s is matched to its ticket already.") % {"piece": piece.spoken},
                _("Scan the next piece."),
            )
        must_be_here(piece, Station.ASSEMBLY)
        return write_move(piece, MoveKind.ASSEMBLED, act)

    return move_once(act, move)


def match_at_table(piece_code: str, act: Act) -> tuple[Moved, bool]:
    """Match a piece, and send its ticket to the rack where nothing is missing any more.

    Gives the match, and whether the ticket went on.
    """
    with atomic_write():
        moved = assemble(piece_code, act)
        complete = not queries.missing_at_assembly(moved.piece.ticket)
        if complete:
            complete_ticket(moved.piece.ticket.number, act)
    return moved, complete


def complete_ticket(ticket_number: int, act: Act, part_reason: str = "") -> list[Moved]:
    """Close the count of a ticket and send its pieces to the rack.

    Refuses while a piece is missing, unless ``part_reason`` says why a part goes ahead; the
    ticket then stays unready until the rest is racked too.
    """
    with atomic_write():
        ticket = lock_ticket(ticket_number)
        if earlier := _completed_before(act):
            return earlier
        missing = queries.missing_at_assembly(ticket)
        if missing and not part_reason.strip():
            raise incomplete(ticket, missing)
        moved = _to_the_rack(ticket, act, part_reason.strip())
        if not moved:
            raise Refused(
                "nothing_to_complete",
                _("Ticket %(ticket)s has no piece on the assembly table.")
                % {"ticket": ticket.number},
                _("Look at its pieces to see where they are."),
            )
        return moved


def _completed_before(act: Act) -> list[Moved]:
    """What a key moved that was used before; pieces matched since then are none of it."""
    if act.client_key is None:
        return []
    moves = Move.objects.filter(client_key=act.client_key, key_part__gt=0)
    earlier = moves.select_related("piece__ticket").order_by("pk")
    return [Moved(move.piece, move, repeated=True) for move in earlier]


def _to_the_rack(ticket: Ticket, act: Act, part_reason: str) -> list[Moved]:
    pieces = (
        ticket.pieces.select_for_update(of=("self",))
        .select_related("ticket", "rack_place")
        .filter(state=PieceState.ASSEMBLED, station=Station.ASSEMBLY)
    )
    return [
        write_move(
            piece,
            MoveKind.TICKET_COMPLETE,
            act.for_piece(piece.code),
            to_station=Station.RACK,
            reason=part_reason,
        )
        for piece in pieces
    ]


def rack(piece_code: str, place_code: str, act: Act) -> Moved:
    """Hang a piece at a place, or move it to another; the last one makes the ticket ready.

    A piece that hangs there already stays, and no second move is written.
    """

    def move() -> Moved:
        piece = lock_piece(piece_code)
        place = _place(place_code)
        allowed_from, _to = TRANSITIONS[MoveKind.RACKED]
        at_rack = piece.station in (Station.RACK, Station.PICKUP)
        if not at_rack or piece.state not in allowed_from:
            refuse_not_here(piece, Station.RACK)
        if piece.state == PieceState.READY and piece.rack_place == place:
            return Moved(piece, queries.last_seen(piece), repeated=True)
        moved = write_move(piece, MoveKind.RACKED, act, to_station=Station.PICKUP, place=place)
        settle(piece.ticket, act)
        return moved

    return move_once(act, move)


class NotHung(Refused):
    """Of several pieces one may not hang there: ``piece`` is its number, and none was hung."""

    def __init__(self, piece: str, no: Refused) -> None:
        super().__init__(no.code, no.says, no.cure, no.kind)
        self.piece = piece


def rack_all(piece_codes: Sequence[str], place_code: str, act: Act) -> list[Moved]:
    """Hang several pieces at one place, or none of them: raises ``NotHung`` for the first that
    may not."""
    moved: list[Moved] = []
    with atomic_write():
        for code in piece_codes:
            try:
                moved.append(rack(code, place_code, act.for_piece(code)))
            except Refused as no:
                raise NotHung(code, no) from no
    return moved


def hand_over(piece_code: str, ticket_number: int, act: Act) -> Moved:
    """Give a ready piece to the customer. Called by pickup, which checks count and balance."""

    def move() -> Moved:
        piece = lock_piece(piece_code)
        refuse_hand_over(piece, ticket_number)
        moved = write_move(piece, MoveKind.COLLECTED, act, place=None)
        settle(piece.ticket, act)
        return moved

    return move_once(act, move)


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
