"""One ticket or piece by its number, what waits where, late pieces, and histories to compare."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from datetime import datetime

from django.contrib.auth.models import User
from django.db.models import F, Prefetch, QuerySet
from django.utils.translation import gettext as _

from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.errors import Kind, Refused
from tickets.models import Hold, LoadPiece, Move, Piece, RouteStep, Ticket
from tickets.numbers import NumberError, spoken

_IN_HAND = (PieceState.WAITING, PieceState.ASSEMBLED)
_CHUNK = 500


def ticket_by_number(number: int) -> Ticket | None:
    """The ticket of a number, with its customer; None for a number nobody was given."""
    return Ticket.objects.select_related("customer", "opened_by").filter(number=number).first()


def find_ticket(number: int) -> Ticket:
    """The ticket of a number, with its customer; ``Refused`` for none."""
    ticket = ticket_by_number(number)
    if ticket is None:
        raise no_ticket(number)
    return ticket


def ticket_under(client_key: uuid.UUID) -> Ticket | None:
    """The ticket that was opened under a one-time key, with its customer; None for none."""
    return Ticket.objects.select_related("customer").filter(client_key=client_key).first()


def piece_by_code(code: str) -> Piece | None:
    """The piece with these ten digits, with its ticket and rack place; None for none."""
    return Piece.objects.select_related("ticket", "rack_place").filter(code=code).first()


def find_piece(code: str) -> Piece:
    """The piece with these ten digits, with its ticket and rack place; ``Refused`` for none."""
    piece = piece_by_code(code)
    if piece is None:
        raise no_piece(code)
    return piece


def piece_with_everything(code: str) -> Piece | None:
    """The piece with these ten digits, with all that its page shows; None for none."""
    pieces = with_everything(Piece.objects.filter(code=code))
    return with_open_load(pieces).first()


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
    """Open pieces, found by the open tickets: what the years leave behind is not gone through."""
    return Piece.objects.filter(ticket__closed_at__isnull=True).exclude(state__in=CLOSED_STATES)


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


def open_hold(piece: Piece) -> Hold | None:
    """The hold that a piece is on now."""
    return piece.holds.filter(ended_at__isnull=True).first()


def active_people() -> QuerySet[User]:
    """Everybody who may sign in."""
    return User.objects.filter(is_active=True)


def who_may_ask() -> QuerySet[User]:
    """People who can own the question of a hold, by name."""
    people = active_people().filter(groups__isnull=False)
    return people.distinct().order_by("first_name", "username")


def matched_on_table(ticket: Ticket) -> bool:
    """Whether a matched piece of a ticket lies on the assembly table."""
    on_table = ticket.pieces.filter(state=PieceState.ASSEMBLED, station=Station.ASSEMBLY)
    return on_table.exists()


def missing_at_assembly(ticket: Ticket) -> list[Piece]:
    """Open pieces of a ticket that have not been matched yet, in order."""
    return [
        piece
        for piece in ticket.pieces.order_by("position")
        if piece.is_open and piece.state not in (PieceState.ASSEMBLED, PieceState.READY)
    ]


# Histories


def all_pieces() -> QuerySet[Piece]:
    """Every piece there ever was."""
    return Piece.objects.all()


def with_history(pieces: QuerySet[Piece]) -> Iterator[Piece]:
    """Pieces with their moves in order, their steps and holds, some hundreds at a time."""
    rows = pieces.select_related("rack_place", "ticket").prefetch_related(
        Prefetch("moves", Move.objects.order_by("number")), "steps", "holds"
    )
    return rows.order_by("pk").iterator(chunk_size=_CHUNK)


def whole_tickets(pieces: QuerySet[Piece]) -> Iterator[Ticket]:
    """The tickets of these pieces with all their pieces, some hundreds at a time."""
    tickets = Ticket.objects.filter(pieces__in=pieces.values("pk")).distinct()
    return tickets.prefetch_related("pieces").order_by("pk").iterator(chunk_size=_CHUNK)
