"""The answer to one scanned line, and what waits for the next one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from care_rules import JsonObject
from tickets.choices import Station
from tickets.errors import Kind, Refused
from tickets.models import Piece
from tickets.numbers import NumberError
from tickets.scanning import wording
from tickets.scanning.lines import PieceScan, ScanLine, StationScan, TicketScan

GOOD, SAME, ASK, BAD = "good", "same", "ask", "bad"
"""Done; nothing new to do; one more line needed; refused."""

WET_CHECK, RACK = "wet_check", "rack"
LOAD_ADD, LOAD_OFF = "load_add", "load_off"
EXPIRES_AFTER = timedelta(minutes=5)

TO_LOADS, TO_LOAD = "loads", "load:"
"""Where a line leads: the page of loads, or with a number after it the page of one."""


@dataclass(frozen=True)
class Pending:
    """What waits for the next line: an answer to ``wet_check``, ``load_add`` or ``load_off``, or
    for ``rack`` a place. It expires, so that no answer falls on a piece scanned long ago."""

    kind: str
    codes: tuple[str, ...]
    since: str

    @property
    def about(self) -> str:
        """Names this one question, so that an answer to an earlier one is known as such."""
        return f"{self.since} {' '.join(self.codes)}"

    @property
    def spoken(self) -> str:
        """The numbers of its pieces as people say them."""
        return ", ".join(f"{code[:7]}-{code[7:9]}" for code in self.codes)

    def overtaken_by(self, line: ScanLine) -> bool:
        """Whether a tag was read while a question about another piece waits for its yes or no.

        The crew has the other piece in hand by then: a yes would fall on the wrong one. At the
        rack pieces are gathered, and no yes is asked for.
        """
        if self.kind == RACK or not isinstance(line, (PieceScan, TicketScan)):
            return False
        return line.code.digits not in self.codes

    def as_json(self) -> JsonObject:
        return {**asdict(self), "codes": list(self.codes)}

    @classmethod
    def from_json(cls, stored: JsonObject | None, now: datetime) -> Pending | None:
        """The stored value, or None where there is none or it is too old."""
        if not stored:
            return None
        if now - datetime.fromisoformat(stored["since"]) > EXPIRES_AFTER:
            return None
        return cls(stored["kind"], tuple(stored["codes"]), stored["since"])


@dataclass(frozen=True)
class Scanned:
    """The answer to one line. ``go_to`` names the board that a station card asks for, or the
    loads or the load that a line leads to.

    ``code`` is the stable word of a refusal and ``kind`` its kind, as in ``Refused``. ``moved`` is
    the piece as it stands after a move. ``also`` names pieces beside ``piece`` whose cards on the
    page may look otherwise now.
    """

    tone: str
    says: str
    cure: str = ""
    piece: str = ""
    ticket: int | None = None
    pending: Pending | None = None
    go_to: str = ""
    repeated: bool = False
    code: str = ""
    kind: Kind = Kind.CONFLICT
    moved: Piece | None = field(default=None, compare=False)
    also: tuple[str, ...] = ()

    @property
    def touched(self) -> tuple[str, ...]:
        """Codes of the pieces whose cards on the page may look otherwise now, each once."""
        return tuple(dict.fromkeys(filter(None, (self.piece, *self.also))))


def answered(line: ScanLine, pending: Pending | None, do: Callable[[], Scanned]) -> Scanned:
    """What ``do`` answers to a line, or why it was refused. Never raises for what a person may
    scan or type. A station card leads to its board wherever it is scanned."""
    try:
        if not line.text:
            raise Refused("empty", _("Nothing was scanned."), _("Scan a tag, or type its figures."))
        return station_card(line) if isinstance(line, StationScan) else do()
    except (Refused, NumberError) as no:
        if isinstance(no, NumberError):
            no = Refused("unknown_number", str(no), kind=no.kind)
        kept = None if pending is not None and pending.overtaken_by(line) else pending
        also = (line.code.digits,) if isinstance(line, PieceScan) else ()
        return Scanned(BAD, no.says, no.cure, pending=kept, code=no.code, kind=no.kind, also=also)


def station_card(card: StationScan) -> Scanned:
    """The answer to a card that leads to a board. Raises ``Refused`` for an unknown station."""
    key = card.name.strip().lower().replace("-", "_").replace(" ", "_")
    if key not in Station.values:
        raise Refused(
            "unknown_station",
            _("There is no station %(name)s.") % {"name": card.name},
            _("Print the cards anew, or choose the station on the overview."),
            kind=Kind.NOT_FOUND,
        )
    return Scanned(SAME, wording.to_board(Station(key)), go_to=key)


def unknown_piece(spoken: str) -> Refused:
    return Refused(
        "unknown_piece",
        _("There is no piece %(code)s.") % {"code": spoken},
        _("Read the figures on the tag again; the ticket may have fewer pieces."),
        kind=Kind.NOT_FOUND,
    )
