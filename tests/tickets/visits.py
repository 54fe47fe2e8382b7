"""Garments that come to the shop and come again."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib.auth.models import User

from tests.building import decide_pieces, hand_over_all, hivis_jacket
from tickets.acting import Act
from tickets.models import Customer, Piece
from tickets.pieces.decisions import PieceSpec
from tickets.pieces.services import open_ticket


def take_in(by: User, customer: Customer, *specs: PieceSpec) -> list[Piece]:
    act = Act(by=by)
    ticket = open_ticket(customer, decide_pieces(specs), act.at + timedelta(days=2), act)
    return list(ticket.pieces.order_by("position"))


def visit(by: User, customer: Customer, **counts: Any) -> Piece:
    """A jacket taken in, washed once and handed over."""
    (piece,) = take_in(by, customer, PieceSpec(facts=hivis_jacket(), **counts))
    hand_over_all(piece.ticket, by)
    return Piece.objects.get(pk=piece.pk)
