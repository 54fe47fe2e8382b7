"""What one scanned or typed line means at a load, and on the page of a station's loads.

Two things need a second line: adding a piece that would change the programme, and taking a piece
off, since a scanner may read a tag twice. ``Pending`` keeps the question; its codes are the piece
and, for adding, the programme that a yes agrees to.
"""

from __future__ import annotations

from django.utils import timezone
from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import proposals, queries, wording
from tickets.loads import services as loadbook
from tickets.loads.refusals import Drops
from tickets.loads.services import Booked
from tickets.loads.wording import answers
from tickets.loads.wording.reasons import kilograms, moment_words
from tickets.models import Load, Piece
from tickets.models.machines import LoadState
from tickets.numbers import TicketCode
from tickets.scanning import lines
from tickets.scanning import wording as scanwords
from tickets.scanning.lines import LoadScan, LoadsScan, ScanLine, YesNo, number_of, read_line
from tickets.scanning.results import (
    ASK,
    BAD,
    GOOD,
    LOAD_ADD,
    LOAD_OFF,
    SAME,
    TO_LOAD,
    TO_LOADS,
    Pending,
    Scanned,
    answered,
    unknown_piece,
)
from tickets.tracking.queries import piece_by_code

_STEPS = {
    lines.CLOSE: loadbook.close,
    lines.START: loadbook.start,
    lines.FINISH: loadbook.finish,
    lines.UNDO: loadbook.undo,
}


def scan_load(load_pk: int, text: str, act: Act, pending: Pending | None = None) -> Scanned:
    """Do what a line means at this load. Never raises for what a person may scan or type."""
    line = read_line(text)
    return answered(line, pending, lambda: _at_load(load_pk, line, act, pending))


def scan_loads(station: Station, text: str, act: Act) -> Scanned:
    """On the page of loads: a tag opens the proposed load that holds it, or leads to its load."""
    line = read_line(text)
    return answered(line, None, lambda: _at_loads(station, line, act))


def _recorded_already(act: Act, pending: Pending | None) -> Scanned | None:
    """The first result of a key that was used before, in words."""
    if not act.client_key:
        return None
    event = queries.event_under(act.client_key)
    if event is None:
        return None
    return Scanned(
        SAME,
        answers.event_recorded_already(event),
        piece=event.piece.code if event.piece else "",
        pending=pending,
        repeated=True,
    )


def _piece(line: ScanLine) -> Piece:
    code = number_of(line)
    if isinstance(code, TicketCode):
        raise Refused(
            "ticket_not_piece",
            _("%(ticket)s is a whole ticket; loads take piece by piece.") % {"ticket": line.text},
            _("Scan the tag of the piece."),
        )
    piece = piece_by_code(code.digits)
    if piece is None:
        raise unknown_piece(code.spoken)
    return piece


# The page of loads


def _at_loads(station: Station, line: ScanLine, act: Act) -> Scanned:
    if done_before := _recorded_already(act, None):
        return done_before
    if isinstance(line, LoadsScan):
        return Scanned(SAME, scanwords.to_the_loads(), go_to=TO_LOADS)
    piece = _piece(line)
    if (load := queries.open_load_with(piece.code)) is not None:
        return Scanned(SAME, answers.to_load(load), go_to=f"{TO_LOAD}{load.pk}")
    floor = proposals.floor(station, timezone.now())
    for proposal in floor.proposals:
        if piece in proposal.pieces:
            codes = [member.code for member in proposal.pieces]
            return opened(loadbook.open_load(proposal.machine.pk, codes, act))
    for bag in floor.bags:
        if piece in bag.pieces:
            codes = [member.code for member in bag.pieces]
            return opened(loadbook.open_bag(bag.partner.pk, codes, act))
    for apart in floor.apart:
        if apart.piece == piece:
            raise Refused("in_no_load", apart.why)
    raise Refused(
        "not_waiting",
        _("%(piece)s waits for no load at %(station)s: it is at %(there)s.")
        % {
            "piece": piece.spoken,
            "station": station.label,
            "there": piece.get_station_display(),
        },
        _("Scan a tag that a proposal names."),
    )


def opened(done: Booked) -> Scanned:
    """The words for a load just opened; they show on its own page."""
    return Scanned(
        GOOD,
        *answers.load_opened(done.load, len(queries.inside(done.load))),
        go_to=f"{TO_LOAD}{done.load.pk}",
        repeated=done.repeated,
    )


# One load


def _at_load(load_pk: int, line: ScanLine, act: Act, pending: Pending | None) -> Scanned:
    if done_before := _recorded_already(act, pending):
        return done_before
    if isinstance(line, LoadsScan):
        return Scanned(SAME, scanwords.to_the_loads(), go_to=TO_LOADS)
    if isinstance(line, YesNo):
        return _answered(load_pk, line.yes, act, pending)
    if isinstance(line, LoadScan):
        return _done(_STEPS[line.text](load_pk, act))
    piece = _piece(line)
    load = queries.load_by_number(load_pk)
    if load is not None and load.state == LoadState.FINISHED:
        return _done(loadbook.count_out(load_pk, piece.code, act))
    if load is not None and load.state == LoadState.FILLING and queries.is_inside(load, piece):
        return Scanned(
            ASK,
            *answers.take_it_off(load, piece),
            piece=piece.code,
            pending=Pending(LOAD_OFF, (piece.code,), act.at.isoformat()),
        )
    return _add(load_pk, piece, act)


def _add(load_pk: int, piece: Piece, act: Act, agreed: str = "") -> Scanned:
    try:
        return _done(loadbook.add(load_pk, piece.code, act, agreed))
    except Drops as drops:
        return Scanned(
            ASK,
            drops.says,
            drops.cure,
            piece=piece.code,
            pending=Pending(LOAD_ADD, (piece.code, drops.programme), act.at.isoformat()),
        )


def _answered(load_pk: int, yes: bool, act: Act, pending: Pending | None) -> Scanned:
    if pending is None or pending.kind not in (LOAD_ADD, LOAD_OFF):
        raise Refused(
            "no_question", _("No question is open at this load."), _("Scan a piece first.")
        )
    piece = piece_by_code(pending.codes[0])
    assert piece is not None  # it was scanned a moment ago, and pieces are never deleted
    if not yes:
        stays = answers.stays_out if pending.kind == LOAD_ADD else answers.stays_in
        return Scanned(SAME, stays(piece), piece=piece.code)
    try:
        if pending.kind == LOAD_OFF:
            return _done(loadbook.take_off(load_pk, piece.code, act))
        return _add(load_pk, piece, act, agreed=pending.codes[1])
    except Refused as no:  # it was moved or the load closed meanwhile: the question is over
        return Scanned(BAD, no.says, no.cure, piece=piece.code, code=no.code, kind=no.kind)


def _done(booked: Booked) -> Scanned:
    load, piece = booked.load, booked.event.piece
    left = queries.inside(load)
    words = {
        "piece": piece.spoken if piece else "",
        "count": answers.piece_count(len(left)),
        "programme": load.programme.name if load.programme else "",
        "fill": load.fill_percent,
        "kg": kilograms(load.grams),
        "named": ", ".join(other.spoken for other in left),
        "missing": "" if left else _missing(load),
        "back": moment_words(load.ends_at) if load.ends_at else "",
        "steps": " ".join(booked.steps),
    }
    says, cure = wording.done_words(load, booked.event.kind, words, bool(left))
    return Scanned(GOOD, says, cure, piece=piece.code if piece else "", repeated=booked.repeated)


def _missing(load: Load) -> str:
    return ", ".join(piece.spoken for piece in queries.missing_from(load))
