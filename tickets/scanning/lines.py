"""The one grammar of what is scanned or typed: boards, loads, pickup and API read lines by it.

Nothing is looked up here. What a line does is for the room where it is scanned to say.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from tickets.numbers import NumberError, PieceCode, TicketCode, parse_code
from tickets.scanning import wording

YES, NO = "YES", "NO"
PLACE_PREFIX, STATION_PREFIX = "RACK ", "STATION "
CLOSE, START, FINISH, UNDO = "CLOSE", "START", "FINISH", "UNDO"
LOADS = "LOADS"
LOAD_STEPS = (CLOSE, START, FINISH, UNDO)

_LONGEST = 60


@dataclass(frozen=True)
class ScanLine:
    """A line as read. ``text`` is the line itself: single spaces, capitals, a fair length.

    A line that is none of those below is empty or no number that this shop prints.
    """

    text: str


@dataclass(frozen=True)
class PieceScan(ScanLine):
    """The number of a piece."""

    code: PieceCode


@dataclass(frozen=True)
class TicketScan(ScanLine):
    """The number of a whole ticket, as its claim slip has it."""

    code: TicketCode


@dataclass(frozen=True)
class PlaceScan(ScanLine):
    """The card of a rack place."""

    place: str


@dataclass(frozen=True)
class StationScan(ScanLine):
    """The card of a station, by the name printed on it."""

    name: str


@dataclass(frozen=True)
class YesNo(ScanLine):
    """The answer to a question."""

    yes: bool


@dataclass(frozen=True)
class LoadScan(ScanLine):
    """The card of a step of a load: one of ``LOAD_STEPS``."""


@dataclass(frozen=True)
class LoadsScan(ScanLine):
    """The card that leads to the loads of a station."""


def read_line(text: str) -> ScanLine:
    """What a scanned or typed line is. Never raises: ``number_of`` says why one is no number.

    >>> read_line("  rack  a1 ")
    PlaceScan(text='RACK A1', place='A1')
    """
    line = plain_line(text)
    if line in (YES, wording.spoken_yes().upper()):
        return YesNo(line, yes=True)
    if line in (NO, wording.spoken_no().upper()):
        return YesNo(line, yes=False)
    if line in LOAD_STEPS:
        return LoadScan(line)
    if line == LOADS:
        return LoadsScan(line)
    if line.startswith(STATION_PREFIX):
        return StationScan(line, line.removeprefix(STATION_PREFIX))
    if line.startswith(PLACE_PREFIX):
        return PlaceScan(line, line.removeprefix(PLACE_PREFIX).strip())
    try:
        code = parse_code(line)
    except NumberError:
        return ScanLine(line)
    return PieceScan(line, code) if isinstance(code, PieceCode) else TicketScan(line, code)


def plain_line(text: str) -> str:
    """A line as all scan boxes read it: single spaces, capitals, a fair length."""
    return " ".join(unicodedata.normalize("NFKC", text).split()).upper()[:_LONGEST]


def number_of(line: ScanLine) -> PieceCode | TicketCode:
    """The number on a line, where only a number has a meaning. Raises ``NumberError``."""
    if isinstance(line, (PieceScan, TicketScan)):
        return line.code
    return parse_code(line.text)
