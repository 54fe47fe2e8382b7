"""What one scanned or typed line means at one station, and what comes of it.

A scan does the one thing that is next at the station. Two things need a second line: a wet check
waits for yes or no, and a piece at the rack waits for its place. Between the two the caller keeps
``Pending``; it expires, so that an answer never falls on a piece scanned long ago.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import WORK_STATIONS, MoveKind, Station
from tickets.errors import Kind, Refused
from tickets.models import Move, Piece, RackPlace
from tickets.numbers import NumberError, PieceCode, TicketCode, parse_code
from tickets.scanning.finishing import hang_at, match, towards_rack, whole_ticket
from tickets.scanning.results import (
    ASK,
    BAD,
    EXPIRES_AFTER,
    GOOD,
    NO,
    PLACE_PREFIX,
    RACK,
    SAME,
    STATION_PREFIX,
    YES,
    Pending,
    Scanned,
)
from tickets.scanning.stations import answer_question, find_piece, work_at

__all__ = [
    "ASK",
    "BAD",
    "EXPIRES_AFTER",
    "GOOD",
    "NO",
    "PLACE_PREFIX",
    "SAME",
    "STATION_PREFIX",
    "YES",
    "Pending",
    "Scanned",
    "find_piece",
    "of_another",
    "plain_line",
    "scan",
    "station_card",
]

_LONGEST = 60


def scan(station: Station, text: str, act: Act, pending: Pending | None = None) -> Scanned:
    """Do what a line means at this station. Never raises for what a person may scan or type.

    ``act.client_key`` makes a repeated call return its first result without a second move.
    """
    try:
        return _scan(station, plain_line(text), act, pending)
    except (Refused, NumberError) as no:
        if isinstance(no, NumberError):
            no = Refused("unknown_number", str(no), kind=no.kind)
        kept = None if of_another(pending, text) else pending
        return Scanned(BAD, no.says, no.cure, pending=kept, code=no.code, kind=no.kind)


def of_another(pending: Pending | None, text: str) -> bool:
    """Whether a tag was read while a question about another piece waits for its yes or no.

    The crew has the other piece in hand by then: a yes would fall on the wrong one. At the rack
    pieces are gathered, and no yes is asked for.
    """
    if pending is None or pending.kind == RACK:
        return False
    try:
        return parse_code(plain_line(text)).digits not in pending.codes
    except NumberError:
        return False


def plain_line(text: str) -> str:
    """A scanned or typed line as all scan boxes read it: single spaces, capitals, a fair length."""
    return " ".join(unicodedata.normalize("NFKC", text).split()).upper()[:_LONGEST]


def _scan(station: Station, line: str, act: Act, pending: Pending | None) -> Scanned:
    if known := _known(act, pending):
        return known
    if not line:
        raise Refused("empty", _("Nothing was scanned."), _("Scan a tag, or type its figures."))
    if line in _yes_words() or line in _no_words():
        return answer_question(station, line in _yes_words(), act, pending)
    if line.startswith(STATION_PREFIX):
        return station_card(line.removeprefix(STATION_PREFIX))
    if line.startswith(PLACE_PREFIX):
        return hang_at(station, line.removeprefix(PLACE_PREFIX).strip(), act, pending)
    if station == Station.RACK and RackPlace.objects.filter(code=line).exists():
        return hang_at(station, line, act, pending)
    try:
        code = parse_code(line)
    except NumberError:
        if station == Station.RACK and any(sign.isalpha() for sign in line):
            return hang_at(station, line, act, pending)  # which says that there is no such place
        raise
    if isinstance(code, TicketCode):
        return whole_ticket(station, code.ticket, act, pending)
    return _piece(station, code, act, pending)


def _known(act: Act, pending: Pending | None) -> Scanned | None:
    """The first result of a key that was used before, in words."""
    if not act.client_key:
        return None
    moves = Move.objects.filter(client_key=act.client_key).select_related("piece__ticket")
    move = moves.order_by("pk").first()
    if move is None:
        return None
    return Scanned(
        SAME,
        _("%(piece)s: recorded already (%(what)s).")
        % {"piece": move.piece.spoken, "what": MoveKind(move.kind).label},
        piece=move.piece.code,
        ticket=move.piece.ticket.number,
        pending=pending,
        repeated=True,
    )


def _yes_words() -> tuple[str, ...]:
    return (YES, _("yes").upper())


def _no_words() -> tuple[str, ...]:
    return (NO, _("no").upper())


def station_card(name: str) -> Scanned:
    """The answer to a card that leads to a board. Raises ``Refused`` for an unknown station."""
    key = name.strip().lower().replace("-", "_").replace(" ", "_")
    if key not in Station.values:
        raise Refused(
            "unknown_station",
            _("There is no station %(name)s.") % {"name": name},
            _("Print the cards anew, or choose the station on the overview."),
            kind=Kind.NOT_FOUND,
        )
    return Scanned(SAME, _("To the board: %(name)s") % {"name": Station(key).label}, go_to=key)


def _piece(station: Station, code: PieceCode, act: Act, pending: Pending | None) -> Scanned:
    piece = find_piece(code.digits)
    if piece is None:
        raise Refused(
            "unknown_piece",
            _("There is no piece %(code)s.") % {"code": code.spoken},
            _("Read the figures on the tag again; the ticket may have fewer pieces."),
            kind=Kind.NOT_FOUND,
        )
    handler: Callable[[Piece, Act, Pending | None], Scanned]
    if station == Station.ASSEMBLY:
        handler = match
    elif station == Station.RACK:
        handler = towards_rack
    elif station in WORK_STATIONS:
        handler = work_at(station)
    else:
        raise Refused(
            "no_scan_here",
            _("Nothing is scanned at %(station)s in the back room.") % {"station": station.label},
            _("Use the pickup page."),
        )
    return handler(piece, act, pending)
