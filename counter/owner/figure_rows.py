"""One counted thing of a figure's list, and the list itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from counter.intake.choice_lists import KINDS
from tickets.models import Piece, Ticket
from tickets.wording import look_of


@dataclass(frozen=True)
class FigureRow:
    """One counted thing: a ticket by its number, or a piece by its code. ``asks`` and ``again``:
    who asks the question that it waits for, and on which day."""

    who: str
    what: str = ""
    note: str = ""
    ticket: int | None = None
    piece: str = ""
    spoken: str = ""
    amount: Decimal | None = None
    asks: str = ""
    again: str = ""


@dataclass(frozen=True)
class FigureList:
    title: str
    formula: str
    rows: list[FigureRow] = field(default_factory=list)

    @property
    def total(self) -> Decimal | None:
        amounts = [row.amount for row in self.rows if row.amount is not None]
        return sum(amounts, Decimal(0)) if amounts else None


def of_ticket(ticket: Ticket, note: str, amount: Decimal | None = None) -> FigureRow:
    return FigureRow(
        who=ticket.customer.name,
        note=note,
        ticket=ticket.number,
        spoken=str(ticket.number),
        amount=amount,
    )


def of_piece(piece: Piece, note: str, asks: str = "", again: str = "") -> FigureRow:
    kind = KINDS.name(piece.kind)
    return FigureRow(
        who=piece.ticket.customer.name,
        what=", ".join(filter(None, [kind, look_of(piece.description, kind)])),
        note=note,
        piece=piece.code,
        spoken=piece.spoken,
        asks=asks,
        again=again,
    )
