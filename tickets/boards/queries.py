"""What a board asks of the database: its cards, its counts, and what a scan needs to know."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet

from tickets.choices import BOARD_STATIONS, PieceState, Station
from tickets.models import Hold, Move, Piece, RackPlace, RouteStep, Ticket
from tickets.promise.open_work import OpenWork
from tickets.promise.queue import OpenPiece, in_turn
from tickets.tracking import queries as tracking

SHARED_STATIONS = (Station.ASSEMBLY, Station.RACK)
"""Stations where a card speaks of the other pieces of its ticket too."""


@dataclass(frozen=True)
class BoardTally:
    """How many pieces are in hand at a station, how many of them late, and how many on hold."""

    total: int
    late: int
    held: int


_IN_HAND = (PieceState.WAITING, PieceState.ASSEMBLED)


def _counts(now: datetime) -> dict[str, Count]:
    in_hand = Q(state__in=_IN_HAND)
    return {
        "total": Count("pk", in_hand),
        "late": Count("pk", in_hand & Q(promised_at__lt=now)),
        "held": Count("pk", Q(state=PieceState.HELD)),
    }


def tally_of(station: Station, now: datetime) -> BoardTally:
    return BoardTally(**Piece.objects.filter(station=station).aggregate(**_counts(now)))


def tallies(now: datetime) -> dict[str, BoardTally]:
    """Of every station where a piece is: one query."""
    pieces = Piece.objects.filter(state__in=(*_IN_HAND, PieceState.HELD)).order_by()
    rows: Iterable[Any] = pieces.values_list("station").annotate(**_counts(now))
    return {station: BoardTally(*counts) for station, *counts in rows}


def worked_piece(code: str) -> Piece | None:
    """A piece with what the card of work just done shows of it: two queries."""
    pieces = Piece.objects.filter(code=code).select_related("ticket__customer")
    steps = Prefetch("steps", RouteStep.objects.order_by("order"))
    return pieces.prefetch_related(steps).first()


def piece_of_ticket(code: str) -> Piece | None:
    """A piece with all that the card of its ticket shows at the table."""
    return with_card(Piece.objects.filter(code=code), Station.ASSEMBLY).first()


def with_card(pieces: QuerySet[Piece], station: Station) -> QuerySet[Piece]:
    """Pieces with all that their cards on this board show, in a fixed number of queries."""
    pieces = tracking.with_open_load(tracking.with_everything(pieces))
    return tracking.with_siblings(pieces) if station in SHARED_STATIONS else pieces


def with_question(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """Pieces on hold with their customer and what is asked, without all that is decided of them:
    two queries."""
    holds = Hold.objects.filter(ended_at__isnull=True).select_related("owner")
    rows = pieces.select_related("ticket__customer").defer("facts", "decision", "inspection")
    return rows.prefetch_related(Prefetch("holds", holds, to_attr="open_holds"))


def on_board(station: Station, codes: Sequence[str]) -> list[Piece]:
    """Those of the pieces that have a card on this board now, with all that it shows; one query
    where none has."""
    return list(with_card(tracking.in_hand().filter(station=station, code__in=codes), station))


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


def waiting_of_ticket(ticket: Ticket, station: Station) -> QuerySet[Piece]:
    """Those of a ticket's pieces that wait at a station."""
    return ticket.pieces.filter(station=station, state=PieceState.WAITING)


def wanting_a_place(ticket: Ticket) -> list[Piece]:
    """Those of a ticket's pieces that have come to the rack and hang nowhere yet."""
    return list(ticket.pieces.filter(station=Station.RACK, state=PieceState.ASSEMBLED))


def on_the_rack(ticket: Ticket) -> list[Piece]:
    """Those of a ticket's pieces that hang at a place."""
    return list(ticket.pieces.filter(state=PieceState.READY))


# The line at a station


@dataclass(frozen=True)
class StationCount:
    """One line of the overview. ``late`` counts pieces in hand only: a held piece waits for an
    answer and not for the station."""

    station: Station
    waiting: int = 0
    matched: int = 0
    held: int = 0
    late: int = 0
    first: Piece | None = None


def waiting_at(station: Station, work: OpenWork) -> list[OpenPiece]:
    """Pieces in hand at a station, first what may wait least; at the assembly table unmatched ones
    first. No query."""
    return in_turn((piece for piece in work.pieces if piece.station == station), work.turns)


def rows_of(line: Sequence[OpenPiece]) -> QuerySet[Piece]:
    """The rows of these pieces, in no order."""
    return Piece.objects.filter(pk__in=[piece.pk for piece in line])


def in_order_of(line: Sequence[OpenPiece], rows: Iterable[Piece]) -> list[Piece]:
    """Rows as the pieces stand in a line; a piece without a row is left out."""
    by_key = {row.pk: row for row in rows}
    return [by_key[piece.pk] for piece in line if piece.pk in by_key]


def station_counts(now: datetime, work: OpenWork) -> list[StationCount]:
    """Every station that has a board, in route order, with counts and its most urgent piece."""
    by_station: dict[str, list[OpenPiece]] = defaultdict(list)
    for piece in work.pieces:
        by_station[piece.station].append(piece)
    lines = {station: in_turn(pieces, work.turns) for station, pieces in by_station.items()}
    firsts = [line[0] for line in lines.values() if line]
    first = {row.station: row for row in tracking.with_everything(rows_of(firsts))}
    return [
        StationCount(
            station,
            waiting=sum(p.state == PieceState.WAITING for p in by_station[station]),
            matched=sum(p.state == PieceState.ASSEMBLED for p in by_station[station]),
            held=sum(p.held for p in by_station[station]),
            late=sum(p.promised_at < now for p in lines.get(station, ())),
            first=first.get(station),
        )
        for station in BOARD_STATIONS
    ]
