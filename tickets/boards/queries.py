"""What a board asks of the database: its cards, its counts, and what a scan needs to know."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Q, QuerySet

from tickets.choices import PieceState, Station
from tickets.models import Move, Piece, RackPlace, Ticket
from tickets.tracking import queries as tracking

SHARED_STATIONS = (Station.ASSEMBLY, Station.RACK)
"""Stations where a card speaks of the other pieces of its ticket too."""


@dataclass(frozen=True)
class BoardTally:
    """How many pieces are in hand at a station, how many of them late, and how many on hold."""

    total: int
    late: int
    held: int


def tally_of(station: Station, now: datetime) -> BoardTally:
    in_hand = Q(state__in=(PieceState.WAITING, PieceState.ASSEMBLED))
    counts = Piece.objects.filter(station=station).aggregate(
        total=Count("pk", in_hand),
        late=Count("pk", in_hand & Q(promised_at__lt=now)),
        held=Count("pk", Q(state=PieceState.HELD)),
    )
    return BoardTally(**counts)


def with_card(pieces: QuerySet[Piece], station: Station) -> QuerySet[Piece]:
    """Pieces with all that their cards on this board show, in a fixed number of queries."""
    pieces = tracking.with_open_load(tracking.with_everything(pieces))
    return tracking.with_siblings(pieces) if station in SHARED_STATIONS else pieces


def on_board(station: Station, codes: Sequence[str]) -> list[Piece]:
    """Those of the pieces that have a card on this board now, with all that it shows; one query
    where none has."""
    return list(with_card(tracking.waiting_at(station).filter(code__in=codes), station))


def codes_of_ticket(number: int) -> list[str]:
    """Codes of all pieces of a ticket."""
    return list(Piece.objects.filter(ticket__number=number).values_list("code", flat=True))


def first_move_under(client_key: str) -> Move | None:
    """The first move that was made under a one-time key."""
    moves = Move.objects.filter(client_key=client_key).select_related("piece__ticket")
    return moves.order_by("pk").first()


def is_place(code: str) -> bool:
    return RackPlace.objects.filter(code=code).exists()


def ready_tickets(pieces: Iterable[Piece]) -> list[Ticket]:
    """Of these pieces' tickets those that are ready, by number."""
    tickets = {piece.ticket_id for piece in pieces}
    ready = Ticket.objects.filter(pk__in=tickets, ready_at__isnull=False)
    return list(ready.order_by("number"))
