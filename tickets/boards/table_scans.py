"""Scans at the assembly table: pieces matched to their tickets, and whole tickets."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.models import Piece, Ticket
from tickets.scanning.results import GOOD, SAME, Scanned
from tickets.tracking import queries
from tickets.tracking import services as tracking
from tickets.tracking.wording import say_place, say_seen
from tickets.writing import atomic_write


def match(piece: Piece, act: Act) -> Scanned:
    if piece.state == PieceState.ASSEMBLED and piece.station == Station.RACK:
        says = _("%(piece)s is matched and its ticket sent on: to the rack.")
        says %= {"piece": piece.spoken}
        return Scanned(SAME, says, piece=piece.code, ticket=piece.ticket.number)
    if piece.state == PieceState.ASSEMBLED:
        if sent := _send_on(piece.ticket, act):
            return replace(sent, piece=piece.code)
        matched, seen = assembly_words(piece.ticket)
        says = _("%(piece)s is matched already.") % {"piece": piece.spoken}
        return Scanned(SAME, f"{says} {matched}", seen, piece.code, piece.ticket.number)
    with atomic_write():
        moved = tracking.assemble(piece.code, act)
        ticket = moved.piece.ticket
        complete = not queries.missing_at_assembly(ticket)
        if complete:
            tracking.complete_ticket(ticket.number, act)
    if complete:
        says, seen = _("%(piece)s matched. Ticket %(ticket)s is complete: to the rack."), ""
        says %= {"piece": moved.piece.spoken, "ticket": ticket.number}
    else:
        matched, seen = assembly_words(ticket)
        says = f"{moved.piece.spoken}: {matched}"
    return Scanned(GOOD, says, seen, moved.piece.code, ticket.number)


def _send_on(ticket: Ticket, act: Act) -> Scanned | None:
    """To the rack with a ticket whose missing piece was given back or collected meanwhile."""
    on_table = ticket.pieces.filter(state=PieceState.ASSEMBLED, station=Station.ASSEMBLY)
    if not on_table.exists() or queries.missing_at_assembly(ticket):
        return None
    tracking.complete_ticket(ticket.number, act)
    says = _("Ticket %(ticket)s is complete: to the rack.") % {"ticket": ticket.number}
    return Scanned(GOOD, says, ticket=ticket.number)


def assembly_words(ticket: Ticket) -> tuple[str, str]:
    """``2 of 3 matched. Missing: …``, and when each missing piece was last seen, and by whom."""
    left = [piece for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    if not left:
        return _("Every piece has left the shop."), ""
    missing = queries.missing_at_assembly(ticket)
    says = _("%(matched)d of %(all)d matched.") % {
        "matched": len(left) - len(missing),
        "all": len(left),
    }
    if not missing:
        return says, ""
    where = "; ".join(map(say_place, missing))
    seen = "; ".join(say_seen(piece, queries.last_seen(piece)) for piece in missing)
    return f"{says} " + _("Missing: %(where)s.") % {"where": where}, f"{seen}."


def ticket_at_table(ticket: Ticket, act: Act) -> Scanned:
    """The claim slip of a ticket: sends it on where nothing is missing any more."""
    if sent := _send_on(ticket, act):
        return sent
    matched, seen = assembly_words(ticket)
    says = _("Ticket %(ticket)s: %(where)s") % {"ticket": ticket.number, "where": matched}
    return Scanned(SAME, says, seen, ticket=ticket.number)
