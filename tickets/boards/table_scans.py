"""Scans at the assembly table: pieces matched to their tickets, and whole tickets."""

from __future__ import annotations

from dataclasses import replace

from tickets.acting import Act
from tickets.boards import wording
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.models import Piece, Ticket
from tickets.scanning.results import GOOD, SAME, Scanned
from tickets.tracking import queries
from tickets.tracking import services as tracking
from tickets.tracking.wording import say_seen


def match(piece: Piece, act: Act) -> Scanned:
    if piece.state == PieceState.ASSEMBLED and piece.station == Station.RACK:
        says = wording.matched_and_sent(piece)
        return Scanned(SAME, says, piece=piece.code, ticket=piece.ticket.number)
    if piece.state == PieceState.ASSEMBLED:
        if sent := _send_on(piece.ticket, act):
            return replace(sent, piece=piece.code)
        matched, seen = assembly_words(piece.ticket)
        says = wording.matched_already(piece)
        return Scanned(SAME, f"{says} {matched}", seen, piece.code, piece.ticket.number)
    moved, complete = tracking.match_at_table(piece.code, act)
    ticket = moved.piece.ticket
    if complete:
        says, seen = wording.last_matched(moved.piece, ticket.number), ""
    else:
        matched, seen = assembly_words(ticket)
        says = f"{moved.piece.spoken}: {matched}"
    return Scanned(GOOD, says, seen, moved.piece.code, ticket.number)


def _send_on(ticket: Ticket, act: Act) -> Scanned | None:
    """To the rack with a ticket whose missing piece was given back or collected meanwhile."""
    if not queries.matched_on_table(ticket) or queries.missing_at_assembly(ticket):
        return None
    tracking.complete_ticket(ticket.number, act)
    return Scanned(GOOD, wording.is_complete(ticket.number), ticket=ticket.number)


def assembly_words(ticket: Ticket) -> tuple[str, str]:
    """``2 of 3 matched. Not ready: …``, and when each missing piece was last seen, and by whom."""
    left = [piece for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    if not left:
        return wording.all_left(), ""
    missing = queries.missing_at_assembly(ticket)
    says = wording.matched_count(len(left) - len(missing), len(left), missing)
    if not missing:
        return says, ""
    seen = "; ".join(say_seen(piece, queries.last_seen(piece)) for piece in missing)
    return says, f"{seen}."


def ticket_at_table(ticket: Ticket, act: Act) -> Scanned:
    """The claim slip of a ticket: sends it on where nothing is missing any more."""
    if sent := _send_on(ticket, act):
        return sent
    matched, seen = assembly_words(ticket)
    says = wording.ticket_stands(ticket.number, matched)
    return Scanned(SAME, says, seen, ticket=ticket.number)
