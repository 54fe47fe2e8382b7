"""What to say of the washes of a piece."""

from __future__ import annotations

from collections.abc import Iterable

from tickets.garments.queries import wash_counts
from tickets.garments.washes import WashCount, cleans, is_counted
from tickets.models import Piece


def count_words(piece: Piece, count: WashCount) -> str:
    """The coming wash while one is still to be done on this visit, else the washes so far."""
    coming = piece.is_open and any(
        step.done_at is None and cleans(step.step, step.settings) for step in piece.steps.all()
    )
    return count.coming_words() if coming else count.done_words()


def wash_words(pieces: Iterable[Piece]) -> dict[int, str]:
    """What to say of the washes of counted pieces (read with their ``steps``), by key.

    No query where none is counted, three for any number of them.
    """
    counted = [piece for piece in pieces if is_counted(piece.care_decision)]
    if not counted:
        return {}
    counts = wash_counts(counted)
    return {piece.pk: count_words(piece, counts[piece.pk]) for piece in counted}
