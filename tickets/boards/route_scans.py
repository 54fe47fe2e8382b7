"""Scans at the stations of a route, and the wet check's question and answer."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.boards import wording
from tickets.choices import MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.loads import queries as loadrows
from tickets.loads import services as loadbook
from tickets.loads import wording as loadwords
from tickets.models import Load, Move, Piece
from tickets.models.machines import LoadState
from tickets.numbers import PieceCode
from tickets.scanning.results import (
    ASK,
    BAD,
    GOOD,
    RACK,
    SAME,
    WET_CHECK,
    Pending,
    Scanned,
    unknown_piece,
)
from tickets.shop.machines import LOAD_STATIONS
from tickets.tracking import queries
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station
from tickets.tracking.queries import piece_by_code
from tickets.tracking.refusals import refuse_not_here


def work_at(station: Station, number: PieceCode, act: Act, pending: Pending | None) -> Scanned:
    """The one thing that is next for a piece at a station of its route.

    The door of the moves is tried first, which knows a repeated key too; what it refuses is
    looked at again, for a wet check is asked about and a second scan is answered calmly.
    """
    code = number.digits
    in_load = station in LOAD_STATIONS and loadrows.lies_in_load(code)
    load = loadrows.open_load_with(code) if in_load else None
    if load is not None and load.station == station:
        return _work_in_load(load, station, number, act)
    try:
        done = tracking.finish_work(code, station, act)
    except Refused:
        # Somebody else may have scanned it just now.
        if calm := _asked_or_done(_known_piece(number), station, act):
            return calm
        raise
    if done.repeated:
        return recorded_already(done.move, pending)
    return _done(done.piece, station, act)


def _known_piece(number: PieceCode) -> Piece:
    piece = piece_by_code(number.digits)
    if piece is None:
        raise unknown_piece(number.spoken)
    return piece


def _work_in_load(load: Load, station: Station, number: PieceCode, act: Act) -> Scanned:
    """What lies in a load is done when it is counted out of that."""
    piece = _known_piece(number)
    if calm := _asked_or_done(piece, station, act):
        return calm
    if load.state != LoadState.FINISHED:
        if piece.state != PieceState.WAITING:
            refuse_not_here(piece, station)
        raise Refused("in_a_load", wording.lies_in(piece, load), loadwords.next_words(load))
    loadbook.count_out(load.pk, piece.code, act)
    after = _known_piece(number)
    if after.state != PieceState.WAITING:
        return _out_but_stopped(after, station)
    return _done(after, station, act)


def _asked_or_done(piece: Piece, station: Station, act: Act) -> Scanned | None:
    """The answer to a piece that waits for its wet check here, or whose work here is done."""
    if _waits_for_answer(piece, station):
        return _question(piece, act)
    return _done_here(piece, station)


def _done(after: Piece, station: Station, act: Act) -> Scanned:
    if _waits_for_answer(after, station):
        return _question(after, act)
    return Scanned(
        GOOD,
        wording.work_done(after, station),
        piece=after.code,
        ticket=after.ticket.number,
        moved=after,
    )


def recorded_already(move: Move, pending: Pending | None) -> Scanned:
    """The first result of a key that was used before, in words."""
    return Scanned(
        SAME,
        wording.move_recorded_already(move),
        piece=move.piece.code,
        ticket=move.piece.ticket.number,
        pending=pending,
        repeated=True,
    )


def _out_but_stopped(piece: Piece, station: Station) -> Scanned:
    """Counted out of its load, but put on hold or given back while it lay there."""
    held = queries.open_hold(piece)
    reason = held.reason if held else queries.last_seen(piece).reason
    return Scanned(
        GOOD,
        *wording.out_but_stopped(piece, station, reason),
        piece=piece.code,
        ticket=piece.ticket.number,
    )


def _waits_for_answer(piece: Piece, station: Station) -> bool:
    if piece.state != PieceState.WAITING or piece.station != station:
        return False
    steps = at_station(piece)
    return bool(steps) and steps[0].step == "wet_check"


def _question(piece: Piece, act: Act) -> Scanned:
    return Scanned(
        ASK,
        *wording.is_stain_gone(piece),
        piece=piece.code,
        ticket=piece.ticket.number,
        pending=Pending(WET_CHECK, (piece.code,), act.at.isoformat()),
    )


def _done_here(piece: Piece, station: Station) -> Scanned | None:
    """A second scan of a piece whose last move was the work of this station."""
    move = queries.last_seen(piece)
    if move.kind not in (MoveKind.WORKED, MoveKind.STAIN_GONE) or move.from_station != station:
        return None
    if piece.station == station and piece.state == PieceState.WAITING:
        return None
    return Scanned(
        SAME,
        wording.work_done_before(piece, station, move),
        piece=piece.code,
        ticket=piece.ticket.number,
    )


def answer_question(station: Station, yes: bool, act: Act, pending: Pending | None) -> Scanned:
    if pending is not None and pending.kind == RACK and not yes:
        return Scanned(SAME, wording.pieces_forgotten())
    if pending is not None and pending.kind == RACK:
        raise Refused(
            "no_question",
            _("%(pieces)s: a place is asked for, and yes is no place.")
            % {"pieces": pending.spoken},
            _("Scan the card of the place. “No” forgets the pieces."),
        )
    if pending is None or pending.kind != WET_CHECK:
        raise Refused(
            "no_question",
            _("No question is open at %(station)s.") % {"station": station.label},
            _("Scan the piece first, then answer."),
        )
    code = pending.codes[0]
    piece = piece_by_code(code)
    moved_since = piece is not None and piece.since > datetime.fromisoformat(pending.since)
    if piece and moved_since and _waits_for_answer(piece, Station(piece.station)):
        # It went round since it was asked about, and this is another wet check.
        return Scanned(
            BAD,
            *wording.moved_since_asked(piece),
            piece=code,
            code="asked_before",
        )
    try:
        moved = tracking.answer_wet_check(code, yes, act)
    except Refused as no:
        # It was asked and answered elsewhere meanwhile.
        return Scanned(BAD, no.says, no.cure, piece=code, code=no.code, kind=no.kind)
    after = moved.piece
    says = wording.stain_answered(after, gone=yes)
    return Scanned(GOOD, says, piece=after.code, ticket=after.ticket.number, moved=after)
