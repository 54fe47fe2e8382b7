"""Scans at the assembly table and the rack: pieces, whole tickets and places."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.errors import Refused
from tickets.models import Piece, Ticket
from tickets.scanning.results import ASK, BAD, GOOD, RACK, SAME, Pending, Scanned
from tickets.tracking import queries
from tickets.tracking import services as tracking
from tickets.tracking.refusals import refuse_not_here
from tickets.tracking.wording import say_place, say_seen
from tickets.writing import atomic_write


def match(piece: Piece, act: Act, _pending: Pending | None) -> Scanned:
    if piece.state == PieceState.ASSEMBLED and piece.station == Station.RACK:
        says = _("%(piece)s is matched and its ticket sent on: to the rack.")
        says %= {"piece": piece.spoken}
        return Scanned(SAME, says, piece=piece.code, ticket=piece.ticket.number)
    if piece.state == PieceState.ASSEMBLED:
        if sent := _send_on(piece.ticket, act):
            return replace(sent, piece=piece.code)
        matched, seen = _assembly_words(piece.ticket)
        says = _("%(piece)s is matched already.") % {"piece": piece.spoken}
        return Scanned(SAME, f"{says} {matched}", seen, piece.code, piece.ticket.number)
    with atomic_write():
        moved = tracking.assemble(piece.code, act)
        ticket = moved.piece.ticket
        complete = not queries.missing_at_assembly(ticket)
        if complete:
            tracking.complete_ticket(ticket.number, act)
    if complete:
        says, seen = _("%(piece)s matched. Ticket %(ticket)s is complete: to the rack."), ""
        says %= {"piece": moved.piece.spoken, "ticket": ticket.number}
    else:
        matched, seen = _assembly_words(ticket)
        says = f"{moved.piece.spoken}: {matched}"
    return Scanned(GOOD, says, seen, moved.piece.code, ticket.number)


def _send_on(ticket: Ticket, act: Act) -> Scanned | None:
    """To the rack with a ticket whose missing piece was given back or collected meanwhile."""
    on_table = ticket.pieces.filter(state=PieceState.ASSEMBLED, station=Station.ASSEMBLY)
    if not on_table.exists() or queries.missing_at_assembly(ticket):
        return None
    tracking.complete_ticket(ticket.number, act)
    says = _("Ticket %(ticket)s is complete: to the rack.") % {"ticket": ticket.number}
    return Scanned(GOOD, says, ticket=ticket.number)


def _assembly_words(ticket: Ticket) -> tuple[str, str]:
    """``2 of 3 matched. Missing: …``, and when each missing piece was last seen, and by whom."""
    left = [piece for piece in ticket.pieces.all() if piece.state not in CLOSED_STATES]
    if not left:
        return _("Every piece has left the shop."), ""
    missing = queries.missing_at_assembly(ticket)
    says = _("%(matched)d of %(all)d matched.") % {
        "matched": len(left) - len(missing),
        "all": len(left),
    }
    if not missing:
        return says, ""
    where = "; ".join(map(say_place, missing))
    seen = "; ".join(say_seen(piece, queries.last_seen(piece)) for piece in missing)
    return f"{says} " + _("Missing: %(where)s.") % {"where": where}, f"{seen}."


def towards_rack(piece: Piece, act: Act, pending: Pending | None) -> Scanned:
    _must_be_rackable(piece)
    earlier = pending.codes if pending is not None and pending.kind == RACK else ()
    codes = tuple(dict.fromkeys((*earlier, piece.code)))
    asked = _ask_place(codes, act, piece=piece.code, ticket=piece.ticket.number)
    if piece.rack_place is None:
        return asked
    hangs = _("%(piece)s hangs at %(place)s; another place moves it.") % {
        "piece": piece.spoken,
        "place": piece.rack_place.code,
    }
    return replace(asked, cure=f"{hangs} {asked.cure}")


def _must_be_rackable(piece: Piece) -> None:
    at_rack = piece.station in (Station.RACK, Station.PICKUP)
    if not at_rack or piece.state not in (PieceState.ASSEMBLED, PieceState.READY):
        refuse_not_here(piece, Station.RACK)


def _ask_place(codes: tuple[str, ...], act: Act, piece: str, ticket: int | None) -> Scanned:
    pending = Pending(RACK, codes, act.at.isoformat())
    return Scanned(
        ASK,
        _("Where do you hang %(pieces)s?") % {"pieces": pending.spoken},
        _("Scan the card of the place, or scan more pieces first. “No” forgets them."),
        piece=piece,
        ticket=ticket,
        pending=pending,
    )


def hang_at(station: Station, place: str, act: Act, pending: Pending | None) -> Scanned:
    if station != Station.RACK:
        raise Refused(
            "not_the_rack",
            _("%(place)s is a rack place, and this is %(station)s.")
            % {"place": place, "station": station.label},
            _("Scan the tag of a piece here."),
        )
    if pending is None or pending.kind != RACK:
        raise Refused(
            "no_piece_yet",
            _("Which piece hangs at %(place)s?") % {"place": place},
            _("Scan the piece or the ticket first, then the place."),
        )
    moved: list[Piece] = []
    try:
        with atomic_write():
            for code in pending.codes:
                moved.append(tracking.rack(code, place, act.for_piece(code)).piece)
    except Refused as no:
        if no.code == "unknown_place":
            raise
        return _without(pending, pending.codes[len(moved)], no)
    tickets = {piece.ticket_id for piece in moved}
    ready = Ticket.objects.filter(pk__in=tickets, ready_at__isnull=False).order_by("number")
    spoken = ", ".join(piece.spoken for piece in moved)
    says = _("%(pieces)s: at %(place)s.") % {"pieces": spoken, "place": place}
    for ticket in ready:
        says += " " + _("Ticket %(ticket)s is ready.") % {"ticket": ticket.number}
    return Scanned(GOOD, says, piece=moved[-1].code, ticket=moved[-1].ticket.number)


def _without(pending: Pending, refused: str, no: Refused) -> Scanned:
    """The one that went elsewhere meanwhile is put aside; the others still wait for the place."""
    rest = replace(pending, codes=tuple(code for code in pending.codes if code != refused))
    if not rest.codes:
        return Scanned(BAD, no.says, no.cure, piece=refused, code=no.code, kind=no.kind)
    cure = _("Nothing was hung. Put it aside, then scan the place again for %(pieces)s.")
    return Scanned(
        BAD,
        no.says,
        f"{no.cure} " + cure % {"pieces": rest.spoken},
        piece=refused,
        pending=rest,
        code=no.code,
        kind=no.kind,
    )


def _towards_the_rack(ticket: Ticket) -> str:
    """What a ticket without a piece at the rack waits for."""
    said = " ".join(filter(None, _assembly_words(ticket)))
    if queries.missing_at_assembly(ticket) or not any(p.is_open for p in ticket.pieces.all()):
        return said
    return f"{said} " + _("Scan it at Assembly: that sends it to the rack.")


def whole_ticket(station: Station, number: int, act: Act, pending: Pending | None) -> Scanned:
    ticket = queries.find_ticket(number)
    if station == Station.ASSEMBLY:
        if sent := _send_on(ticket, act):
            return sent
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
                _towards_the_rack(ticket),
            )
        earlier = pending.codes if pending is not None and pending.kind == RACK else ()
        codes = tuple(dict.fromkeys((*earlier, *(piece.code for piece in chosen))))
        return _ask_place(codes, act, piece=chosen[-1].code, ticket=number)
    here = [p.spoken for p in ticket.pieces.filter(station=station, state=PieceState.WAITING)]
    raise Refused(
        "ticket_not_piece",
        _("%(ticket)s is a whole ticket; work is done piece by piece.") % {"ticket": number},
        _("Scan the tag of the piece. Waiting here: %(pieces)s.")
        % {"pieces": ", ".join(here) or _("none")},
    )
