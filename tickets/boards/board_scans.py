"""What one line means on the board of a station, and what comes of it.

A scan does the one thing that is next at the station. Two things need a second line: a wet check
waits for yes or no, and a piece at the rack waits for its place. Between the two the caller keeps
``Pending``.
"""

from __future__ import annotations

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.boards import queries
from tickets.boards.rack_scans import hang_at, ticket_to_rack, towards_rack
from tickets.boards.route_scans import answer_question, recorded_already, work_at
from tickets.boards.table_scans import match, ticket_at_table
from tickets.choices import WORK_STATIONS, Station
from tickets.errors import Refused
from tickets.numbers import TicketCode
from tickets.scanning.lines import (
    LoadsScan,
    PieceScan,
    PlaceScan,
    ScanLine,
    TicketScan,
    YesNo,
    number_of,
    read_line,
)
from tickets.scanning.results import SAME, TO_LOADS, Pending, Scanned, answered, unknown_piece
from tickets.scanning.wording import to_the_loads
from tickets.shop.machines import LOAD_STATIONS
from tickets.tracking.queries import find_ticket, piece_by_code


def scan(station: Station, text: str, act: Act, pending: Pending | None = None) -> Scanned:
    """Do what a line means at this station. Never raises for what a person may scan or type.

    ``act.client_key`` makes a repeated call return its first result without a second move.
    """
    return scan_line(station, read_line(text), act, pending)


def scan_line(
    station: Station, line: ScanLine, act: Act, pending: Pending | None = None
) -> Scanned:
    """As ``scan``, for a line that is read already."""
    return answered(line, pending, lambda: _at_board(station, line, act, pending))


def _at_board(station: Station, line: ScanLine, act: Act, pending: Pending | None) -> Scanned:
    if isinstance(line, PieceScan) and station in WORK_STATIONS:
        return work_at(station, line.code, act, pending)
    if isinstance(line, LoadsScan) and station in LOAD_STATIONS:
        return Scanned(SAME, to_the_loads(), go_to=TO_LOADS)
    if act.client_key and (move := queries.first_move_under(act.client_key)):
        return recorded_already(move, pending)
    if isinstance(line, YesNo):
        return answer_question(station, line.yes, act, pending)
    if (place := _place_on(line, station)) is not None:
        return hang_at(station, place, act, pending)
    number = number_of(line)
    if isinstance(number, TicketCode):
        return _whole_ticket(station, number.ticket, act, pending)
    piece = piece_by_code(number.digits)
    if piece is None:
        raise unknown_piece(number.spoken)
    if station == Station.ASSEMBLY:
        return match(piece, act)
    if station == Station.RACK:
        return towards_rack(piece, act, pending)
    raise Refused(
        "no_scan_here",
        _("Nothing is scanned at %(station)s in the back room.") % {"station": station.label},
        _("Use the pickup page."),
    )


def _place_on(line: ScanLine, station: Station) -> str | None:
    """The rack place that a line names. At the rack its card may be typed without the prefix."""
    if isinstance(line, PlaceScan):
        return line.place
    if station != Station.RACK or isinstance(line, PieceScan):
        return None
    is_number = isinstance(line, TicketScan) or not any(sign.isalpha() for sign in line.text)
    # Letters that are no place are told so as a place, not as a number.
    return line.text if not is_number or queries.is_place(line.text) else None


def _whole_ticket(station: Station, number: int, act: Act, pending: Pending | None) -> Scanned:
    ticket = find_ticket(number)
    if station == Station.ASSEMBLY:
        return ticket_at_table(ticket, act)
    if station == Station.RACK:
        return ticket_to_rack(ticket, act, pending)
    spoken = [piece.spoken for piece in queries.waiting_of_ticket(ticket, station)]
    raise Refused(
        "ticket_not_piece",
        _("%(ticket)s is a whole ticket; work is done piece by piece.") % {"ticket": number},
        _("Scan the tag of the piece. Waiting here: %(pieces)s.")
        % {"pieces": ", ".join(spoken) or _("none")},
    )
