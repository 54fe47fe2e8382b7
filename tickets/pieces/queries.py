"""What the pages, papers and API of a ticket and of one piece ask the database."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db.models import Prefetch, QuerySet, prefetch_related_objects

from tickets.choices import CLOSED_STATES, OPEN_STATES, Station
from tickets.models import Acceptance, Hold, Move, PaperPrint, Piece, Ticket
from tickets.tracking.queries import find_piece, late_pieces, with_everything


def listed_pieces() -> QuerySet[Piece]:
    """Every piece with its ticket and rack place, the earliest promise first."""
    return Piece.objects.select_related("ticket", "rack_place").order_by("promised_at", "pk")


def narrowed_to_open(pieces: QuerySet[Piece], yes: bool) -> QuerySet[Piece]:
    """Those of the pieces that are still in the shop, or those that have left it."""
    if yes:
        return pieces.filter(state__in=OPEN_STATES, ticket__closed_at__isnull=True)
    return pieces.filter(state__in=CLOSED_STATES)


def narrowed_to_moved(pieces: QuerySet[Piece], since: datetime) -> QuerySet[Piece]:
    """Those of the pieces that came where they are at that moment or later, in that order."""
    return pieces.filter(since__gte=since).order_by("since", "pk")


def narrowed_to_late(pieces: QuerySet[Piece], now: datetime, yes: bool) -> QuerySet[Piece]:
    """Those of the pieces that are late, or all others."""
    late = late_pieces(now).order_by().values("pk")
    return pieces.filter(pk__in=late) if yes else pieces.exclude(pk__in=late)


def piece_in_detail(code: str) -> Piece:
    """One piece with its steps, acceptances, moves and holds; ``Refused`` for none."""
    piece = find_piece(code)
    prefetch_related_objects(
        [piece],
        "steps",
        "acceptances",
        Prefetch("moves", Move.objects.select_related("by")),
        Prefetch("holds", Hold.objects.select_related("owner")),
    )
    return piece


def moves_by_position(keys: Collection[int]) -> QuerySet[Move]:
    """Moves of one ticket's pieces, in order of the pieces."""
    moves = Move.objects.select_related("by", "piece__ticket", "piece__rack_place")
    return moves.filter(pk__in=keys).order_by("piece__position")


def by_position(ticket: Ticket) -> list[Piece]:
    """The pieces of a ticket in order."""
    return list(ticket.pieces.order_by("position"))


def cards_of(ticket: Ticket) -> list[Piece]:
    """The pieces of a ticket in order, with all that its page shows of them."""
    pieces = ticket.pieces.order_by("position").select_related("ticket__customer")
    return list(with_everything(pieces))


def prints_of(ticket: Ticket) -> QuerySet[PaperPrint]:
    """What was printed of a ticket, and by whom."""
    return ticket.prints.select_related("by")


def acceptances_of(piece: Piece) -> QuerySet[Acceptance]:
    """The cautions that were accepted for a piece, and who noted it."""
    return piece.acceptances.select_related("recorded_by")


def moves_of(piece: Piece) -> QuerySet[Move]:
    """Every move of a piece and who made it, the latest first."""
    return piece.moves.select_related("by").order_by("-number")


def holds_of(piece: Piece) -> QuerySet[Hold]:
    """Every hold of a piece, ended ones too, the latest first."""
    return piece.holds.select_related("owner", "opened_by", "ended_by").order_by("-opened_at")


def later_visit(piece: Piece) -> Piece | None:
    """The piece that this garment was at its next visit."""
    return Piece.objects.filter(earlier=piece).first()


def has_begun(piece: Piece) -> bool:
    """Whether a step beyond intake is done."""
    begun = piece.steps.filter(done_at__isnull=False).exclude(station=Station.INTAKE)
    return begun.exists()
