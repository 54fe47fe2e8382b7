"""What a board asks of the database: its cards, its counts, and what a scan needs to know."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Case, Count, IntegerField, Q, QuerySet, When

from tickets.choices import BOARD_STATIONS, PieceState, Station
from tickets.models import Move, Piece, RackPlace, Ticket
from tickets.promise.queries import open_pieces
from tickets.promise.queue import OpenPiece, in_turn
from tickets.shop.queries import read_calendar
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


def waiting_at(station: Station, now: datetime) -> QuerySet[Piece]:
    """Pieces in hand at a station, first what may wait least; at the assembly table unmatched ones
    first. Five queries and three for the calendar, of open rows alone."""
    line = in_turn(open_pieces(now, station), read_calendar())
    if not line:
        return Piece.objects.none()
    places = [When(pk=piece.pk, then=place) for place, piece in enumerate(line)]
    in_line = Piece.objects.filter(pk__in=[piece.pk for piece in line])
    return in_line.annotate(turn=Case(*places, output_field=IntegerField())).order_by("turn")


def station_counts(now: datetime) -> list[StationCount]:
    """Every station that has a board, in route order, with counts and its most urgent piece."""
    calendar = read_calendar()
    by_station: dict[str, list[OpenPiece]] = defaultdict(list)
    for piece in open_pieces(now):
        by_station[piece.station].append(piece)
    lines = {station: in_turn(pieces, calendar) for station, pieces in by_station.items()}
    keys = [line[0].pk for line in lines.values() if line]
    first = {p.station: p for p in tracking.with_everything(Piece.objects.filter(pk__in=keys))}
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
