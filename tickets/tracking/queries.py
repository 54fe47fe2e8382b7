"""One ticket or piece by its number, and what waits where: station queues, late pieces."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db.models import F, Prefetch, QuerySet
from django.utils.translation import gettext as _

from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.errors import Kind, Refused
from tickets.models import Hold, LoadPiece, Move, Piece, RouteStep, Ticket
from tickets.numbers import NumberError, spoken

_IN_HAND = (PieceState.WAITING, PieceState.ASSEMBLED)


def ticket_by_number(number: int) -> Ticket | None:
    """The ticket of a number, with its customer; None for a number nobody was given."""
    return Ticket.objects.select_related("customer", "opened_by").filter(number=number).first()


def find_ticket(number: int) -> Ticket:
    """The ticket of a number, with its customer; ``Refused`` for none."""
    ticket = ticket_by_number(number)
    if ticket is None:
        raise no_ticket(number)
    return ticket


def piece_by_code(code: str) -> Piece | None:
    """The piece with these ten digits, with its ticket and rack place; None for none."""
    return Piece.objects.select_related("ticket", "rack_place").filter(code=code).first()


def find_piece(code: str) -> Piece:
    """The piece with these ten digits, with its ticket and rack place; ``Refused`` for none."""
    piece = piece_by_code(code)
    if piece is None:
        raise no_piece(code)
    return piece


def no_ticket(number: int) -> Refused:
    """What to raise where there is no ticket of a number."""
    return Refused(
        "unknown_ticket",
        _("There is no ticket %(ticket)s.") % {"ticket": number},
        _("Read the number again, or search by phone or name."),
        kind=Kind.NOT_FOUND,
    )


def no_piece(code: str) -> Refused:
    """What to raise where there is no piece of a number."""
    try:
        shown = spoken(code)
    except NumberError:
        shown = code
    return Refused(
        "unknown_piece",
        _("There is no piece %(code)s.") % {"code": shown},
        _("Scan the tag again, or type the number under the bars."),
        kind=Kind.NOT_FOUND,
    )


def pieces_in_the_shop() -> QuerySet[Piece]:
    return Piece.objects.exclude(state__in=CLOSED_STATES)


def with_everything(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """Pieces with all that a swing tag shows, in a fixed number of queries."""
    return pieces.select_related("ticket__customer", "rack_place").prefetch_related(
        Prefetch("steps", RouteStep.objects.select_related("done_by").order_by("order")),
        Prefetch(
            "holds",
            Hold.objects.filter(ended_at__isnull=True).select_related("owner", "opened_by"),
            to_attr="open_holds",
        ),
    )


def with_open_load(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """The load that each piece is in now, with its machine or partner: one more query."""
    inside = LoadPiece.objects.filter(left_at__isnull=True)
    return pieces.prefetch_related(
        Prefetch(
            "in_loads",
            inside.select_related("load__machine", "load__partner"),
            to_attr="open_load_rows",
        )
    )


def with_siblings(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """The other pieces of each ticket too, and where they hang: two more queries."""
    return pieces.prefetch_related(
        Prefetch("ticket__pieces", Piece.objects.select_related("rack_place").order_by("position"))
    )


def in_hand() -> QuerySet[Piece]:
    """Pieces waiting or matched."""
    return Piece.objects.filter(state__in=_IN_HAND)


def held_at(station: Station) -> QuerySet[Piece]:
    """Pieces on hold at a station, the one to ask about first first."""
    return Piece.objects.filter(
        station=station, state=PieceState.HELD, holds__ended_at__isnull=True
    ).order_by("holds__ask_again_on", "promised_at", "pk")


def late_pieces(now: datetime) -> QuerySet[Piece]:
    """Open pieces, held ones too, whose promise is past and that are not ready; oldest first."""
    return (
        pieces_in_the_shop()
        .exclude(state=PieceState.READY)
        .filter(promised_at__lt=now)
        .order_by("promised_at", "pk")
    )


def last_moves(pieces: Sequence[Piece]) -> dict[int, Move]:
    """The latest move of each piece, with who made it, in one query."""
    moves = Move.objects.filter(
        piece__in=[piece.pk for piece in pieces], number=F("piece__move_count")
    )
    return {move.piece_id: move for move in moves.select_related("by")}


def last_seen(piece: Piece) -> Move:
    """The latest move of one piece, with who made it."""
    move = piece.moves.select_related("by").order_by("-number").first()
    assert move is not None  # every piece begins with an opening move
    return move


def reason_held(piece: Piece) -> str:
    """Why a piece is on hold; empty for one that is not."""
    return piece.holds.filter(ended_at__isnull=True).values_list("reason", flat=True).first() or ""


def missing_at_assembly(ticket: Ticket) -> list[Piece]:
    """Open pieces of a ticket that have not been matched yet, in order."""
    return [
        piece
        for piece in ticket.pieces.order_by("position")
        if piece.is_open and piece.state not in (PieceState.ASSEMBLED, PieceState.READY)
    ]
