"""The rows that stand on a claim slip and a receipt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from counter.models import Payment, Pickup, TicketLine
from counter.money.queries import Balance, balance, lines_of, payments_of
from tickets.garments.queries import counted_washes
from tickets.garments.washes import WashCount
from tickets.models import Piece, Ticket
from tickets.pieces.queries import by_position


@dataclass(frozen=True)
class SlipRows:
    """What a claim slip is made from. ``washes``: of pieces that have them counted, by key."""

    pieces: Sequence[Piece]
    washes: Mapping[int, WashCount]
    lines: Sequence[TicketLine]
    account: Balance


@dataclass(frozen=True)
class ReceiptRows:
    """What a receipt is made from: the pieces that left, and those still ``waiting``."""

    handed: Sequence[Piece]
    waiting: Sequence[Piece]
    lines: Sequence[TicketLine]
    payments: Sequence[Payment]
    account: Balance


def slip_rows(ticket: Ticket) -> SlipRows:
    pieces = pieces_on_slip(ticket)
    return SlipRows(pieces, counted_washes(pieces), lines_of(ticket), balance(ticket))


def receipt_rows(ticket: Ticket, pickup: Pickup | None) -> ReceiptRows:
    """With a pickup, what left then; without one, nothing did."""
    return ReceiptRows(
        handed=pieces_handed(pickup) if pickup is not None else [],
        waiting=[piece for piece in by_position(ticket) if piece.is_open],
        lines=lines_of(ticket),
        payments=payments_of(ticket),
        account=balance(ticket),
    )


def pieces_on_slip(ticket: Ticket) -> list[Piece]:
    """The pieces of a ticket in order, with what was accepted and what is to be done."""
    return list(ticket.pieces.order_by("position").prefetch_related("acceptances", "steps"))


def pieces_handed(pickup: Pickup) -> list[Piece]:
    """What left with a pickup, in order."""
    return [row.piece for row in pickup.scanned.select_related("piece").order_by("piece__position")]


def last_pickup(ticket: Ticket) -> Pickup | None:
    """The latest hand-over of a ticket."""
    return ticket.pickups.filter(done_at__isnull=False).order_by("-done_at").first()


def done_pickup(ticket: Ticket, pk: int) -> Pickup | None:
    """A hand-over of this ticket by its key; None for none."""
    return ticket.pickups.filter(done_at__isnull=False, pk=pk).first()
