"""Scans at the stations of a route, and the wet check's question and answer."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from tickets import wording
from tickets.acting import Act
from tickets.choices import MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.loads import load_checks
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
from tickets.tracking.wording import name_of, say_when


def work_at(station: Station, number: PieceCode, act: Act, pending: Pending | None) -> Scanned:
    """The one thing that is next for a piece at a station of its route.

    The door of the moves is tried first, which knows a repeated key too; what it refuses is
    looked at again, for a wet check is asked about and a second scan is answered calmly.
    """
    code = number.digits
    load = load_checks.open_load_with(code) if station in LOAD_STATIONS else None
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
        raise Refused("in_a_load", _in_load(piece, load), loadwords.next_words(load))
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
        _("%(piece)s: %(here)s done. Next: %(next)s.")
        % {
            "piece": after.spoken,
            "here": station.label,
            "next": after.get_station_display(),
        },
        piece=after.code,
        ticket=after.ticket.number,
        moved=after,
    )


def recorded_already(move: Move, pending: Pending | None) -> Scanned:
    """The first result of a key that was used before, in words."""
    return Scanned(
        SAME,
        _("%(piece)s: recorded already (%(what)s).")
        % {"piece": move.piece.spoken, "what": MoveKind(move.kind).label},
        piece=move.piece.code,
        ticket=move.piece.ticket.number,
        pending=pending,
        repeated=True,
    )


def _out_but_stopped(piece: Piece, station: Station) -> Scanned:
    """Counted out of its load, but put on hold or given back while it lay there."""
    held = piece.holds.filter(ended_at__isnull=True).first()
    return Scanned(
        GOOD,
        _("%(piece)s is out of its load, but %(here)s is not done for it. %(state)s: %(reason)s")
        % {
            "piece": piece.spoken,
            "here": station.label,
            "state": piece.get_state_display(),
            "reason": held.reason if held else queries.last_seen(piece).reason,
        },
        _("Put it aside. Its page says what is being waited for."),
        piece=piece.code,
        ticket=piece.ticket.number,
    )


def _in_load(piece: Piece, load: Load) -> str:
    return _("%(piece)s lies in %(holder)s. %(title)s is: %(state)s.") % {
        "piece": piece.spoken,
        "title": loadwords.title(load),
        "holder": load.holder.name,
        "state": loadwords.state_words(load),
    }


def _waits_for_answer(piece: Piece, station: Station) -> bool:
    if piece.state != PieceState.WAITING or piece.station != station:
        return False
    steps = at_station(piece)
    return bool(steps) and steps[0].step == "wet_check"


def _question(piece: Piece, act: Act) -> Scanned:
    stains = wording.stain_names(piece.care_facts)
    named = f" ({', '.join(stains)})" if stains else ""
    return Scanned(
        ASK,
        _("%(piece)s had a stain%(named)s. Is it gone?") % {"piece": piece.spoken, "named": named},
        _("Look at the wet piece. Yes: on to heat. No: back to spotting. Heat sets what is left."),
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
        _("%(piece)s: %(here)s was done %(when)s by %(who)s. Next: %(next)s.")
        % {
            "piece": piece.spoken,
            "here": station.label,
            "when": say_when(move.at),
            "who": name_of(move.by),
            "next": piece.get_station_display(),
        },
        piece=piece.code,
        ticket=piece.ticket.number,
    )


def answer_question(station: Station, yes: bool, act: Act, pending: Pending | None) -> Scanned:
    if pending is not None and pending.kind == RACK and not yes:
        return Scanned(SAME, _("Forgotten. Nothing was hung."))
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
            _("%(piece)s was moved since that was asked.") % {"piece": piece.spoken},
            _("Scan it again, look at it, then answer."),
            piece=code,
            code="asked_before",
        )
    try:
        moved = tracking.answer_wet_check(code, yes, act)
    except Refused as no:
        # It was asked and answered elsewhere meanwhile.
        return Scanned(BAD, no.says, no.cure, piece=code, code=no.code, kind=no.kind)
    words = {"piece": moved.piece.spoken, "next": moved.piece.get_station_display()}
    says = (
        _("%(piece)s: stain gone. Next: %(next)s.") % words
        if yes
        else _("%(piece)s: stain still there. Back to %(next)s.") % words
    )
    after = moved.piece
    return Scanned(GOOD, says, piece=after.code, ticket=after.ticket.number, moved=after)
