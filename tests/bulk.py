"""Many pieces at once: copies of one that was taken in and worked on in the usual way."""

from __future__ import annotations

import uuid
from copy import copy
from typing import Any, TypeVar

from django.db.models import Max, Model

from tickets.models import Acceptance, Hold, Move, Piece, RouteStep, Ticket
from tickets.numbers import piece_code

_Row = TypeVar("_Row", bound=Model)


def copies(piece: Piece, count: int, *, a_ticket: int = 10) -> list[Piece]:
    """More pieces that stand as this one does, with steps, moves, yeses and holds of their own.

    They are in new tickets like the piece's, `a_ticket` of them in each; with 0 in its own ticket.
    Written in a few queries, however many they are, where opening and working them would take
    dozens for each.
    """
    piece = Piece.objects.select_related("ticket").get(pk=piece.pk)
    if a_ticket:
        last = Ticket.objects.aggregate(last=Max("number"))["last"]
        tickets = Ticket.objects.bulk_create(
            _copy(piece.ticket, number=last + place, client_key=uuid.uuid4())
            for place in range(1, -(-count // a_ticket) + 1)
        )
        places = [(ticket, place) for ticket in tickets for place in range(1, a_ticket + 1)]
    else:
        taken = piece.ticket.pieces.count()
        places = [(piece.ticket, place) for place in range(taken + 1, taken + count + 1)]
    pieces = Piece.objects.bulk_create(
        _copy(piece, ticket=ticket, position=place, code=piece_code(ticket.number, place))
        for ticket, place in places[:count]
    )
    steps, moves, yeses = list(piece.steps.all()), list(piece.moves.all()), piece.acceptances.all()
    RouteStep.objects.bulk_create(_copy(step, piece=other) for other in pieces for step in steps)
    Move.objects.bulk_create(
        _copy(move, piece=other, client_key=None) for other in pieces for move in moves
    )
    Acceptance.objects.bulk_create(_copy(row, piece=other) for other in pieces for row in yeses)
    holds = list(piece.holds.all())
    Hold.objects.bulk_create(_copy(row, piece=other) for other in pieces for row in holds)
    return pieces


def _copy(row: _Row, **changes: Any) -> _Row:
    fresh = copy(row)
    fresh._state = copy(row._state)
    fresh.pk, fresh._state.adding = None, True
    for name, value in changes.items():
        setattr(fresh, name, value)
    return fresh
