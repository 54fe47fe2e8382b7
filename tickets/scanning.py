"""What one scanned or typed line means at one station, and what comes of it.

A scan does the one thing that is next at the station. Two things need a second line: a wet check
waits for yes or no, and a piece at the rack waits for its place. Between the two the caller keeps
``Pending``; it expires, so that an answer never falls on a piece scanned long ago.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from tickets import tracking, wording
from tickets.choices import CLOSED_STATES, WORK_STATIONS, MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.models import Move, Piece, RackPlace, Ticket
from tickets.numbers import NumberError, PieceCode, TicketCode, parse_code
from tickets.tracking import Act
from tickets.writing import atomic_write

GOOD, SAME, ASK, BAD = "good", "same", "ask", "bad"
"""Done; nothing new to do; one more line needed; refused."""

YES, NO = "YES", "NO"
PLACE_PREFIX, STATION_PREFIX = "RACK ", "STATION "
EXPIRES_AFTER = timedelta(minutes=5)
_LONGEST = 60


@dataclass(frozen=True)
class Pending:
    """What waits for the next line: ``wet_check`` for an answer, ``rack`` for a place."""

    kind: str
    codes: tuple[str, ...]
    since: str

    def as_json(self) -> dict[str, Any]:
        return {**asdict(self), "codes": list(self.codes)}

    @classmethod
    def from_json(cls, stored: dict[str, Any] | None, now: datetime) -> Pending | None:
        """The stored value, or None where there is none or it is too old."""
        if not stored:
            return None
        if now - datetime.fromisoformat(stored["since"]) > EXPIRES_AFTER:
            return None
        return cls(stored["kind"], tuple(stored["codes"]), stored["since"])


@dataclass(frozen=True)
class Scanned:
    """The answer to one line. ``go_to`` names the board that a station card asks for.

    ``code`` is the stable word of a refusal, as in ``Refused``.
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


def scan(station: Station, text: str, act: Act, pending: Pending | None = None) -> Scanned:
    """Do what a line means at this station. Never raises for what a person may scan or type.

    ``act.client_key`` makes a repeated call return its first result without a second move.
    """
    try:
        return _scan(station, _plain(text), act, pending)
    except (Refused, NumberError) as no:
        if isinstance(no, NumberError):
            no = Refused("unknown_number", str(no))
        return Scanned(BAD, no.says, no.cure, pending=pending, code=no.code)


def _plain(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).split()).upper()[:_LONGEST]


def _scan(station: Station, line: str, act: Act, pending: Pending | None) -> Scanned:
    if known := _known(act, pending):
        return known
    if not line:
        raise Refused("empty", _("Nothing was scanned."), _("Scan a tag, or type its figures."))
    if line in _yes_words() or line in _no_words():
        return _answer(station, line in _yes_words(), act, pending)
    if line.startswith(STATION_PREFIX):
        return _station_card(line.removeprefix(STATION_PREFIX))
    if line.startswith(PLACE_PREFIX):
        return _place(station, line.removeprefix(PLACE_PREFIX).strip(), act, pending)
    if station == Station.RACK and RackPlace.objects.filter(code=line).exists():
        return _place(station, line, act, pending)
    code = parse_code(line)
    if isinstance(code, TicketCode):
        return _ticket(station, code.ticket, act, pending)
    return _piece(station, code, act, pending)


def _known(act: Act, pending: Pending | None) -> Scanned | None:
    """The first result of a key that was used before, in words."""
    if not act.client_key:
        return None
    moves = Move.objects.filter(client_key=act.client_key) | Move.objects.filter(
        client_key__startswith=f"{act.client_key}/"
    )
    move = moves.select_related("piece__ticket").order_by("pk").first()
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


def _station_card(name: str) -> Scanned:
    key = name.strip().lower().replace("-", "_").replace(" ", "_")
    if key not in Station.values:
        raise Refused(
            "unknown_station",
            _("There is no station %(name)s.") % {"name": name},
            _("Print the cards anew, or choose the station on the overview."),
        )
    return Scanned(SAME, _("To the board: %(name)s") % {"name": Station(key).label}, go_to=key)


def _piece(station: Station, code: PieceCode, act: Act, pending: Pending | None) -> Scanned:
    piece = find_piece(code.digits)
    if piece is None:
        raise Refused(
            "unknown_piece",
            _("There is no piece %(code)s.") % {"code": code.spoken},
            _("Read the figures on the tag again; the ticket may have fewer pieces."),
        )
    handler: Callable[[Piece, Act, Pending | None], Scanned]
    if station == Station.ASSEMBLY:
        handler = _match
    elif station == Station.RACK:
        handler = _towards_rack
    elif station in WORK_STATIONS:
        handler = _work_at(station)
    else:
        raise Refused(
            "no_scan_here",
            _("Nothing is scanned at %(station)s in the back room.") % {"station": station.label},
            _("Use the pickup page."),
        )
    return handler(piece, act, pending)


def find_piece(code: str) -> Piece | None:
    return Piece.objects.select_related("ticket", "rack_place").filter(code=code).first()


def _work_at(station: Station) -> Callable[[Piece, Act, Pending | None], Scanned]:
    def work(piece: Piece, act: Act, _pending: Pending | None) -> Scanned:
        if _waits_for_answer(piece, station):
            return _question(piece, act)
        if calm := _done_here(piece, station):
            return calm
        try:
            after = tracking.finish_work(piece.code, station, act).piece
        except Refused:
            # Somebody else may have scanned it between the look above and now.
            if (now := find_piece(piece.code)) and (calm := _done_here(now, station)):
                return calm
            raise
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
        )

    return work


def _waits_for_answer(piece: Piece, station: Station) -> bool:
    if piece.state != PieceState.WAITING or piece.station != station:
        return False
    steps = tracking.at_station(Piece.objects.prefetch_related("steps").get(pk=piece.pk))
    return bool(steps) and steps[0].step == "wet_check"


def _question(piece: Piece, act: Act) -> Scanned:
    stains = wording.stain_names(piece.facts)
    named = f" ({', '.join(stains)})" if stains else ""
    return Scanned(
        ASK,
        _("%(piece)s had a stain%(named)s. Is it gone?")
        % {"piece": piece.spoken, "named": named},
        _("Look at the wet piece. Yes: on to heat. No: back to spotting. Heat sets what is left."),
        piece=piece.code,
        ticket=piece.ticket.number,
        pending=Pending("wet_check", (piece.code,), act.at.isoformat()),
    )


def _done_here(piece: Piece, station: Station) -> Scanned | None:
    """A second scan of a piece whose last move was the work of this station."""
    move = tracking.last_seen(piece)
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
            "when": tracking.say_when(move.at),
            "who": tracking.name_of(move.by),
            "next": piece.get_station_display(),
        },
        piece=piece.code,
        ticket=piece.ticket.number,
    )


def _answer(station: Station, yes: bool, act: Act, pending: Pending | None) -> Scanned:
    if pending is not None and pending.kind == "rack" and not yes:
        return Scanned(SAME, _("Forgotten. Nothing was hung."))
    if pending is None or pending.kind != "wet_check":
        raise Refused(
            "no_question",
            _("No question is open at %(station)s.") % {"station": station.label},
            _("Scan the piece first, then answer."),
        )
    code = pending.codes[0]
    try:
        moved = tracking.answer_wet_check(code, yes, act)
    except Refused as no:
        # It was asked and answered elsewhere meanwhile.
        return Scanned(BAD, no.says, no.cure, piece=code, code=no.code)
    words = {"piece": moved.piece.spoken, "next": moved.piece.get_station_display()}
    says = (
        _("%(piece)s: stain gone. Next: %(next)s.") % words
        if yes
        else _("%(piece)s: stain still there. Back to %(next)s.") % words
    )
    return Scanned(GOOD, says, piece=moved.piece.code, ticket=moved.piece.ticket.number)


def _match(piece: Piece, act: Act, _pending: Pending | None) -> Scanned:
    if piece.state == PieceState.ASSEMBLED:
        where = _assembly_words(piece.ticket)
        says = _("%(piece)s is matched already.") % {"piece": piece.spoken}
        return Scanned(SAME, f"{says} {where}", piece=piece.code, ticket=piece.ticket.number)
    with atomic_write():
        moved = tracking.assemble(piece.code, act)
        ticket = moved.piece.ticket
        complete = not tracking.missing_at_assembly(ticket)
        if complete:
            tracking.complete_ticket(ticket.number, act)
    says = (
        _("%(piece)s matched. Ticket %(ticket)s is complete: to the rack.")
        % {"piece": moved.piece.spoken, "ticket": ticket.number}
        if complete
        else f"{moved.piece.spoken}: {_assembly_words(ticket)}"
    )
    return Scanned(GOOD, says, piece=moved.piece.code, ticket=ticket.number)


def _assembly_words(ticket: Ticket) -> str:
    """``2 of 3 matched. Missing: …``, with where each missing piece was last seen."""
    left = [piece for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    missing = tracking.missing_at_assembly(ticket)
    says = _("%(matched)d of %(all)d matched.") % {
        "matched": len(left) - len(missing),
        "all": len(left),
    }
    if not missing:
        return says
    where = "; ".join(map(tracking.say_where, missing))
    return f"{says} " + _("Missing: %(where)s.") % {"where": where}


def _towards_rack(piece: Piece, act: Act, pending: Pending | None) -> Scanned:
    _must_be_rackable(piece)
    earlier = pending.codes if pending is not None and pending.kind == "rack" else ()
    codes = tuple(dict.fromkeys((*earlier, piece.code)))
    return _ask_place(codes, act, piece=piece.code, ticket=piece.ticket.number)


def _must_be_rackable(piece: Piece) -> None:
    at_rack = piece.station in (Station.RACK, Station.PICKUP)
    if not at_rack or piece.state not in (PieceState.ASSEMBLED, PieceState.READY):
        tracking.refuse_not_here(piece, Station.RACK)


def _ask_place(codes: tuple[str, ...], act: Act, piece: str, ticket: int | None) -> Scanned:
    spoken = ", ".join(f"{code[:7]}-{code[7:9]}" for code in codes)
    return Scanned(
        ASK,
        _("Where do you hang %(pieces)s?") % {"pieces": spoken},
        _("Scan the card of the place, or scan more pieces first. “No” forgets them."),
        piece=piece,
        ticket=ticket,
        pending=Pending("rack", codes, act.at.isoformat()),
    )


def _place(station: Station, place: str, act: Act, pending: Pending | None) -> Scanned:
    if station != Station.RACK:
        raise Refused(
            "not_the_rack",
            _("%(place)s is a rack place, and this is %(station)s.")
            % {"place": place, "station": station.label},
            _("Scan the tag of a piece here."),
        )
    if pending is None or pending.kind != "rack":
        raise Refused(
            "no_piece_yet",
            _("Which piece hangs at %(place)s?") % {"place": place},
            _("Scan the piece or the ticket first, then the place."),
        )
    with atomic_write():
        moved = [
            tracking.rack(code, place, _key_of(act, code)).piece for code in pending.codes
        ]
    tickets = {piece.ticket_id for piece in moved}
    ready = Ticket.objects.filter(pk__in=tickets, ready_at__isnull=False).order_by("number")
    spoken = ", ".join(piece.spoken for piece in moved)
    says = _("%(pieces)s: at %(place)s.") % {"pieces": spoken, "place": place}
    for ticket in ready:
        says += " " + _("Ticket %(ticket)s is ready.") % {"ticket": ticket.number}
    return Scanned(GOOD, says, piece=moved[-1].code, ticket=moved[-1].ticket.number)


def _key_of(act: Act, code: str) -> Act:
    if not act.client_key:
        return act
    return replace(act, client_key=f"{act.client_key}/{code}")


def _ticket(station: Station, number: int, act: Act, pending: Pending | None) -> Scanned:
    ticket = Ticket.objects.filter(number=number).first()
    if ticket is None:
        raise Refused(
            "unknown_ticket",
            _("There is no ticket %(ticket)s.") % {"ticket": number},
            _("Read the number again, or search by phone or name."),
        )
    if station == Station.ASSEMBLY:
        return Scanned(
            SAME,
            _("Ticket %(ticket)s: %(where)s")
            % {"ticket": number, "where": _assembly_words(ticket)},
            ticket=number,
        )
    if station == Station.RACK:
        pieces = ticket.pieces.select_related("ticket", "rack_place")
        waiting = pieces.filter(station=Station.RACK, state=PieceState.ASSEMBLED)
        chosen = list(waiting) or list(pieces.filter(state=PieceState.READY))
        if not chosen:
            raise Refused(
                "nothing_to_rack",
                _("Ticket %(ticket)s has no piece for the rack.") % {"ticket": number},
                _assembly_words(ticket),
            )
        earlier = pending.codes if pending is not None and pending.kind == "rack" else ()
        codes = tuple(dict.fromkeys((*earlier, *(piece.code for piece in chosen))))
        return _ask_place(codes, act, piece=chosen[-1].code, ticket=number)
    here = [p.spoken for p in ticket.pieces.filter(station=station, state=PieceState.WAITING)]
    raise Refused(
        "ticket_not_piece",
        _("%(ticket)s is a whole ticket; work is done piece by piece.") % {"ticket": number},
        _("Scan the tag of the piece. Waiting here: %(pieces)s.")
        % {"pieces": ", ".join(here) or _("none")},
    )

