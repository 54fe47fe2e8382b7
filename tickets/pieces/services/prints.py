"""Tags are printed, and every print of a ticket's papers is logged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.utils import timezone

from tickets.choices import Paper
from tickets.models import PaperPrint, Piece, Ticket
from tickets.pieces import queries
from tickets.pieces.papers import tag_data
from tickets.printing import build_tags
from tickets.shop.face import shop_face
from tickets.tracking import services as tracking
from tickets.writing import atomic_write


@dataclass(frozen=True)
class Printed:
    """A paper as PDF bytes; ``copy`` is 1 for the first of its kind, more for a reprint."""

    pdf: bytes
    copy: int


def print_tags(
    ticket: Ticket,
    by: User | None,
    *,
    size: str = "",
    start_at: int = 1,
    pieces: Sequence[Piece] | None = None,
    at: datetime | None = None,
) -> Printed:
    """Tags as PDF, with the print logged. Without a size, the shop's own.

    Raises ``PaperError`` for an unknown size, a place off the sheet or no pieces; then nothing
    is logged.
    """
    face = shop_face()
    stock = size or face.tag_size
    every = queries.by_position(ticket)
    chosen = every if pieces is None else pieces
    tags = tag_data(ticket, chosen, count=len(every), shop_name=face.name)
    pdf = build_tags(tags, stock, face.tag_dpi, start_at)
    return Printed(pdf, log_print(ticket, Paper.TAGS, stock, by, at))


def log_print(
    ticket: Ticket, paper: Paper, size: str, by: User | None, at: datetime | None = None
) -> int:
    """Note that a paper was printed; returns which copy of its kind it is, from 1."""
    with atomic_write():
        locked = tracking.lock_ticket(ticket.number)
        copy = PaperPrint.objects.filter(ticket=locked, paper=paper).count() + 1
        PaperPrint.objects.create(
            ticket=locked, paper=paper, size=size, copy=copy, at=at or timezone.now(), by=by
        )
    return copy
