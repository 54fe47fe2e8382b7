"""What the pickup page says of a search that met nothing, of a claim slip, and of pieces that go
out or stay."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.models import Customer, Piece

_MOST_NAMED = 3


def ticket_unknown(number: int) -> str:
    return _("There is no ticket %(ticket)s.") % {"ticket": number}


def nothing_here(customers: Sequence[Customer]) -> str:
    names = ", ".join(customer.name for customer in customers[:_MOST_NAMED])
    return _("Nothing of %(names)s is in the shop.") % {"names": names}


def too_short(query: str) -> str:
    return _("“%(query)s” is too short: type three digits or two letters at least.") % {
        "query": query
    }


def nobody(query: str) -> str:
    return _("Nobody and no ticket is known by “%(query)s”. Try a part of the name.") % {
        "query": query
    }


def claim_slip(of_this: bool, number: int) -> str:
    """The claim slip was scanned in place of a piece; ``of_this``: the slip of this ticket."""
    if of_this:
        return _("This is the claim slip of this ticket.")
    return _("This is the claim slip of ticket %(ticket)s.") % {"ticket": number}


def counted_piece(piece: Piece, *, before: bool) -> str:
    """A piece scanned to go out; ``before``: it was scanned already."""
    words = _("%(piece)s was scanned before") if before else _("%(piece)s goes out")
    return words % {"piece": piece.spoken}


def stays_here(piece: Piece) -> str:
    return _("%(piece)s stays here") % {"piece": piece.spoken}


def handed_to(name: str, pieces: int) -> str:
    """``name``: of who collected them."""
    return ngettext(
        "%(count)d piece handed to %(name)s.", "%(count)d pieces handed to %(name)s.", pieces
    ) % {"count": pieces, "name": name}
