"""What a scanned number stands for."""

from __future__ import annotations

from tickets.models import Piece


def find_piece(code: str) -> Piece | None:
    """The piece with these ten digits, with its ticket and its place."""
    return Piece.objects.select_related("ticket", "rack_place").filter(code=code).first()
