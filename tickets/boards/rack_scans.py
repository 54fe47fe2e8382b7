"""Scans at the rack: pieces are gathered, then hung at the place that is scanned."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.boards import queries, wording
from tickets.boards.table_scans import assembly_words
from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.models import Piece, Ticket
from tickets.scanning.results import ASK, BAD, GOOD, RACK, Pending, Scanned
from tickets.tracking import queries as tracked
from tickets.tracking import services as tracking
from tickets.tracking.refusals import refuse_not_here


def towards_rack(piece: Piece, act: Act, pending: Pending | None) -> Scanned:
    _must_be_rackable(piece)
    codes = _gathered(pending, piece.code)
    asked = _ask_place(codes, act, piece=piece.code, ticket=piece.ticket.number)
    if piece.rack_place is None:
        return asked
    hangs = wording.hangs_at(piece, piece.rack_place.code)
    return replace(asked, cure=f"{hangs} {asked.cure}")


def ticket_to_rack(ticket: Ticket, act: Act, pending: Pending | None) -> Scanned:
    """The claim slip of a ticket gathers its pieces that wait for a place, or else those that
    hang already."""
    chosen = queries.wanting_a_place(ticket) or queries.on_the_rack(ticket)
    if not chosen:
        raise Refused(
            "nothing_to_rack",
            _("Ticket %(ticket)s has no piece for the rack.") % {"ticket": ticket.number},
            _towards_the_rack(ticket),
        )
    codes = _gathered(pending, *(piece.code for piece in chosen))
    return _ask_place(codes, act, piece=chosen[-1].code, ticket=ticket.number)


def _gathered(pending: Pending | None, *codes: str) -> tuple[str, ...]:
    earlier = pending.codes if pending is not None and pending.kind == RACK else ()
    return tuple(dict.fromkeys((*earlier, *codes)))


def _must_be_rackable(piece: Piece) -> None:
    at_rack = piece.station in (Station.RACK, Station.PICKUP)
    if not at_rack or piece.state not in (PieceState.ASSEMBLED, PieceState.READY):
        refuse_not_here(piece, Station.RACK)


def _ask_place(codes: tuple[str, ...], act: Act, piece: str, ticket: int | None) -> Scanned:
    pending = Pending(RACK, codes, act.at.isoformat())
    return Scanned(
        ASK,
        *wording.where_to_hang(pending.spoken),
        piece=piece,
        ticket=ticket,
        pending=pending,
    )


def hang_at(station: Station, place: str, act: Act, pending: Pending | None) -> Scanned:
    if station != Station.RACK:
        raise Refused(
            "not_the_rack",
            _("%(place)s is a rack place, and this is %(station)s.")
            % {"place": place, "station": station.label},
            _("Scan the tag of a piece here."),
        )
    if pending is None or pending.kind != RACK:
        raise Refused(
            "no_piece_yet",
            _("Which piece hangs at %(place)s?") % {"place": place},
            _("Scan the piece or the ticket first, then the place."),
        )
    try:
        moved = [hung.piece for hung in tracking.rack_all(pending.codes, place, act)]
    except tracking.NotHung as no:
        if no.code == "unknown_place":
            raise
        return _without(pending, no.piece, no)
    spoken = ", ".join(piece.spoken for piece in moved)
    ready = (wording.is_ready(ticket.number) for ticket in queries.ready_tickets(moved))
    last = moved[-1]
    return Scanned(
        GOOD,
        " ".join([wording.hung(spoken, place), *ready]),
        piece=last.code,
        ticket=last.ticket.number,
        moved=last,
        also=pending.codes,
    )


def _without(pending: Pending, refused: str, no: Refused) -> Scanned:
    """The one that went elsewhere meanwhile is put aside; the others still wait for the place."""
    rest = replace(pending, codes=tuple(code for code in pending.codes if code != refused))
    if not rest.codes:
        return Scanned(BAD, no.says, no.cure, piece=refused, code=no.code, kind=no.kind)
    return Scanned(
        BAD,
        no.says,
        f"{no.cure} {wording.none_hung(rest.spoken)}",
        piece=refused,
        pending=rest,
        code=no.code,
        kind=no.kind,
    )


def _towards_the_rack(ticket: Ticket) -> str:
    """What a ticket without a piece at the rack waits for."""
    said = " ".join(filter(None, assembly_words(ticket)))
    if tracked.missing_at_assembly(ticket) or not any(p.is_open for p in ticket.pieces.all()):
        return said
    return f"{said} {wording.scan_at_assembly()}"
