"""The same garment at visit after visit: which of a customer's garments may come again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tickets.choices import CLOSED_STATES
from tickets.errors import Refused
from tickets.garments.washes import WashCount, is_counted, wash_counts
from tickets.models import Customer, Piece

OFFERED = 12
"""How many earlier garments of a customer are offered."""


@dataclass(frozen=True)
class Garment:
    """The latest piece of a garment, and its washes with that visit's."""

    piece: Piece
    count: WashCount

    @property
    def counted(self) -> bool:
        return is_counted(self.piece.care_decision)


def of_customer(customer: Customer, most: int = OFFERED) -> list[Garment]:
    """Garments of a customer that have left the shop, each at its latest visit, newest first."""
    latest = (
        Piece.objects.filter(ticket__customer=customer, state__in=CLOSED_STATES, later__isnull=True)
        .select_related("ticket")
        .order_by("-ticket__opened_at", "-ticket_id", "position")[:most]
    )
    return _garments(latest)


def by_code(codes: Iterable[str]) -> dict[str, Garment]:
    """Garments by the numbers of their pieces; a number that is not known is left out."""
    wanted = [code for code in codes if code]
    if not wanted:
        return {}
    found = Piece.objects.filter(code__in=wanted).select_related("ticket", "later")
    return {garment.piece.code: garment for garment in _garments(found)}


def _garments(pieces: Iterable[Piece]) -> list[Garment]:
    rows = list(pieces)
    counts = wash_counts(rows)
    return [Garment(piece, counts[piece.pk]) for piece in rows]


def must_come_again(customer: Customer, earlier: Sequence[Piece | None]) -> None:
    """Refuse an earlier piece that can't be the same garment; ``earlier`` is by position.

    It must be this customer's, have left the shop, and not have come again on another piece.
    """
    taken: set[int] = set()
    for position, piece in enumerate(earlier, 1):
        if piece is None:
            continue
        names = {"position": position, "piece": piece.spoken}
        cure = _("Take the piece off, then choose the right garment or add it as a new one.")
        if piece.ticket.customer_id != customer.pk:
            raise Refused(
                "other_customer",
                _("Piece %(position)d: %(piece)s belongs to another customer.") % names,
                cure,
            )
        if piece.is_open:
            raise Refused(
                "still_here",
                _("Piece %(position)d: %(piece)s is still here, at %(station)s.")
                % {**names, "station": piece.get_station_display()},
                _("Hand it over first, or add this garment as a new one."),
            )
        again = Piece.objects.filter(earlier=piece).first()
        if again is not None:
            raise Refused(
                "came_again",
                _("Piece %(position)d: %(piece)s came again already, as %(again)s.")
                % {**names, "again": again.spoken},
                cure,
            )
        if piece.pk in taken:
            raise Refused(
                "same_garment",
                _("Piece %(position)d: %(piece)s stands on this ticket already.") % names,
                cure,
            )
        taken.add(piece.pk)
