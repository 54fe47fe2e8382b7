"""Scans at the assembly table and the rack: pieces, whole tickets and places."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _

from tickets import tracking
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.errors import Refused
from tickets.models import Piece, Ticket
from tickets.scanning.results import ASK, GOOD, SAME, Pending, Scanned
from tickets.tracking import Act
from tickets.writing import atomic_write


def match(piece: Piece, act: Act, _pending: Pending | None) -> Scanned:
    if piece.state == PieceState.ASSEMBLED:
        matched, seen = _assembly_words(piece.ticket)
        says = _("%(piece)s is matched already.") % {"piece": piece.spoken}
        return Scanned(SAME, f"{says} {matched}", seen, piece.code, piece.ticket.number)
    with atomic_write():
        moved = tracking.assemble(piece.code, act)
        ticket = moved.piece.ticket
        complete = not tracking.missing_at_assembly(ticket)
        if complete:
            tracking.complete_ticket(ticket.number, act)
    if complete:
        says, seen = _("%(piece)s matched. Ticket %(ticket)s is complete: to the rack."), ""
        says %= {"piece": moved.piece.spoken, "ticket": ticket.number}
    else:
        matched, seen = _assembly_words(ticket)
        says = f"{moved.piece.spoken}: {matched}"
    return Scanned(GOOD, says, seen, moved.piece.code, ticket.number)


def _assembly_words(ticket: Ticket) -> tuple[str, str]:
    """``2 of 3 matched. Missing: …``, and when each missing piece was last seen, and by whom."""
    left = [piece for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    missing = tracking.missing_at_assembly(ticket)
    says = _("%(matched)d of %(all)d matched.") % {
        "matched": len(left) - len(missing),
        "all": len(left),
    }
    if not missing:
        return says, ""
    where = "; ".join(map(tracking.say_place, missing))
    seen = "; ".join(map(tracking.say_seen, missing))
    return f"{says} " + _("Missing: %(where)s.") % {"where": where}, f"{seen}."


def towards_rack(piece: Piece, act: Act, pending: Pending | None) -> Scanned:
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


def hang_at(station: Station, place: str, act: Act, pending: Pending | None) -> Scanned:
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
        moved = [tracking.rack(code, place, _key_of(act, code)).piece for code in pending.codes]
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


def whole_ticket(station: Station, number: int, act: Act, pending: Pending | None) -> Scanned:
    ticket = Ticket.objects.filter(number=number).first()
    if ticket is None:
        raise Refused(
            "unknown_ticket",
            _("There is no ticket %(ticket)s.") % {"ticket": number},
            _("Read the number again, or search by phone or name."),
        )
    if station == Station.ASSEMBLY:
        matched, seen = _assembly_words(ticket)
        says = _("Ticket %(ticket)s: %(where)s") % {"ticket": number, "where": matched}
        return Scanned(SAME, says, seen, ticket=number)
    if station == Station.RACK:
        pieces = ticket.pieces.select_related("ticket", "rack_place")
        waiting = pieces.filter(station=Station.RACK, state=PieceState.ASSEMBLED)
        chosen = list(waiting) or list(pieces.filter(state=PieceState.READY))
        if not chosen:
            raise Refused(
                "nothing_to_rack",
                _("Ticket %(ticket)s has no piece for the rack.") % {"ticket": number},
                " ".join(filter(None, _assembly_words(ticket))),
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
