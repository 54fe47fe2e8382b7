"""What one scanned or typed line means at a load, and on the page of a station's loads.

Two things need a second line: adding a piece that would change the programme, and taking a piece
off, since a scanner may read a tag twice. ``Pending`` keeps the question; its codes are the piece
and, for adding, the programme that a yes agrees to.
"""

from __future__ import annotations

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import bags, load_checks, waiting, wording
from tickets.loads import floor as loadfloor
from tickets.loads import services as loadbook
from tickets.loads.services import Booked, Drops
from tickets.models import Load, LoadEvent, LoadPiece, Piece
from tickets.models.machines import LoadState
from tickets.numbers import TicketCode
from tickets.scanning import lines
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
    events = LoadEvent.objects.select_related("piece", "load")
    event = events.filter(client_key=act.client_key).first()
    if event is None:
        return None
    what = wording.event_words(event.load, event.kind)
    return Scanned(
        SAME,
        _("%(title)s: recorded already (%(what)s).")
        % {"title": wording.title(event.load), "what": what},
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
        return Scanned(SAME, _("To the loads."), go_to=TO_LOADS)
    piece = _piece(line)
    if (load := load_checks.open_load_of(piece)) is not None:
        says = (_("To bag %(load)d.") if load.is_bag else _("To load %(load)d.")) % {
            "load": load.pk
        }
        return Scanned(SAME, says, go_to=f"{TO_LOAD}{load.pk}")
    floor = loadfloor.floor(station, timezone.now())
    for proposal in floor.proposals:
        if piece in proposal.pieces:
            codes = [each.code for each in proposal.pieces]
            return opened(loadbook.open_load(proposal.machine.pk, codes, act))
    for bag in floor.bags:
        if piece in bag.pieces:
            codes = [each.code for each in bag.pieces]
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
        _("%(title)s is open: %(count)s.")
        % {
            "title": wording.title(done.load),
            "count": _pieces(len(loadbook.left_in(done.load))),
        },
        _("Put each piece in, scan more into it, then CLOSE."),
        go_to=f"{TO_LOAD}{done.load.pk}",
        repeated=done.repeated,
    )


# One load


def _at_load(load_pk: int, line: ScanLine, act: Act, pending: Pending | None) -> Scanned:
    if done_before := _recorded_already(act, pending):
        return done_before
    if isinstance(line, LoadsScan):
        return Scanned(SAME, _("To the loads."), go_to=TO_LOADS)
    if isinstance(line, YesNo):
        return _answered(load_pk, line.yes, act, pending)
    if isinstance(line, LoadScan):
        return _done(_STEPS[line.text](load_pk, act))
    piece = _piece(line)
    load = Load.objects.filter(pk=load_pk).first()
    if load is not None and load.state == LoadState.FINISHED:
        return _done(loadbook.count_out(load_pk, piece.code, act))
    if load is not None and load.state == LoadState.FILLING and _is_in(load, piece):
        return Scanned(
            ASK,
            (
                _("%(piece)s is in this bag. Take it off?")
                if load.is_bag
                else _("%(piece)s is in this load. Take it off?")
            )
            % {"piece": piece.spoken},
            _("Yes takes it off; no leaves it in."),
            piece=piece.code,
            pending=Pending(LOAD_OFF, (piece.code,), act.at.isoformat()),
        )
    return _add(load_pk, piece, act)


def _is_in(load: Load, piece: Piece) -> bool:
    return LoadPiece.objects.filter(load=load, piece=piece, left_at__isnull=True).exists()


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
        words = {"piece": piece.spoken}
        left = pending.kind == LOAD_ADD
        says = _("%(piece)s stays out of this load.") if left else _("%(piece)s stays in.")
        return Scanned(SAME, says % words, piece=piece.code)
    try:
        if pending.kind == LOAD_OFF:
            return _done(loadbook.take_off(load_pk, piece.code, act))
        return _add(load_pk, piece, act, agreed=pending.codes[1])
    except Refused as no:  # it was moved or the load closed meanwhile: the question is over
        return Scanned(BAD, no.says, no.cure, piece=piece.code, code=no.code, kind=no.kind)


def _done(booked: Booked) -> Scanned:
    load, piece = booked.load, booked.event.piece
    left = loadbook.left_in(load)
    words = {
        "piece": piece.spoken if piece else "",
        "count": _pieces(len(left)),
        "programme": load.programme.name if load.programme else "",
        "fill": load.fill_percent,
        "kg": waiting.kilograms(load.grams),
        "named": ", ".join(each.spoken for each in left),
        "missing": "" if left else _missing(load),
        "back": bags.moment_words(load.ends_at) if load.ends_at else "",
        "steps": " ".join(booked.steps),
    }
    says, cure = wording.done_words(load, booked.event.kind, words, bool(left))
    return Scanned(GOOD, says, cure, piece=piece.code if piece else "", repeated=booked.repeated)


def _missing(load: Load) -> str:
    return ", ".join(each.piece.spoken for each in loadbook.missing_from(load))


def _pieces(count: int) -> str:
    return ngettext("%(n)d piece", "%(n)d pieces", count) % {"n": count}
