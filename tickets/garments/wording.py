"""What to say of the washes of a piece."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.garments.washes import WashCount, cleans
from tickets.models import Piece


def count_words(piece: Piece, count: WashCount) -> str:
    """The coming wash while one is still to be done on this visit, else the washes so far."""
    coming = piece.is_open and any(
        step.done_at is None and cleans(step.step, step.settings) for step in piece.steps.all()
    )
    return coming_wash(count) if coming else washes_done(count)


def wash_words(pieces: Iterable[Piece], counts: Mapping[int, WashCount]) -> dict[int, str]:
    """What to say of the washes of those pieces (read with their ``steps``) that have a count;
    both by the piece's key."""
    return {
        piece.pk: count_words(piece, counts[piece.pk]) for piece in pieces if piece.pk in counts
    }


def coming_wash(count: WashCount) -> str:
    """The next wash as staff say it: ``Wash 6 of 25 on its label``."""
    return _with_doubt(
        count,
        _("Wash %(n)d, no count known from its label") % {"n": count.done + 1}
        if count.allowed is None
        else _("Wash %(n)d of %(allowed)d on its label")
        % {"n": count.done + 1, "allowed": count.allowed},
    )


def washes_done(count: WashCount) -> str:
    """The washes so far: ``6 of 25 washes on its label done``."""
    return _with_doubt(
        count,
        ngettext(
            "%(n)d wash counted, no count known from its label",
            "%(n)d washes counted, no count known from its label",
            count.done,
        )
        % {"n": count.done}
        if count.allowed is None
        else ngettext(
            "%(n)d of %(allowed)d wash on its label done",
            "%(n)d of %(allowed)d washes on its label done",
            count.allowed,
        )
        % {"n": count.done, "allowed": count.allowed},
    )


def right_garment() -> str:
    """The cure where an earlier piece can't be the garment that is taken in."""
    return _("Take the piece off, then choose the right garment or add it as a new one.")


def _with_doubt(count: WashCount, words: str) -> str:
    if count.told:
        return words
    return _("%(words)s, or more: washes before its first visit are not known") % {"words": words}
