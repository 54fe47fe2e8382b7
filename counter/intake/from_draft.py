"""The last tap of an intake: the draft becomes a ticket, once."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from counter.care import overrides
from counter.intake.looks import PieceLook, look_at_draft
from counter.intake.opening import open_ticket
from counter.models import IntakeDraft, Shop
from tickets.acting import Act
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.writing import atomic_write


def open_from_draft(
    draft: IntakeDraft,
    promised_at: datetime | None,
    act: Act,
    *,
    promise_reason: str = "",
) -> Ticket:
    """Open the ticket of a draft, with prices, acceptances and the draft's own mark, or nothing.

    The draft's key is the ticket's one-time key: however often and from however many windows
    this is called, one ticket comes of it. Raises ``Refused`` as ``open_ticket`` does, and for
    anything the counter still has to answer.
    """
    with atomic_write():
        draft = (
            IntakeDraft.objects.select_for_update(of=("self",))
            .select_related("customer")
            .get(pk=draft.pk)
        )
        if draft.ticket_id:
            return Ticket.objects.get(pk=draft.ticket_id)
        look = look_at_draft(draft, Shop.current(), act.at)
        for piece in look.pieces:
            _must_be_complete(piece)
        ticket = open_ticket(
            draft.customer,
            [piece.spec() for piece in look.pieces],
            promised_at,
            act,
            client_key=draft.key,
            rush=draft.rush,
            note=draft.note,
            promise_reason=promise_reason,
            typed_prices=[piece.typed for piece in look.pieces],
            recorded=[overrides.in_force(piece) for piece in draft.pieces],
        )
        overrides.keep_with_pieces(draft, ticket)
        draft.ticket = ticket
        draft.save(update_fields=["ticket", "changed_at"])
    return ticket


def _must_be_complete(look: PieceLook) -> None:
    """A refused piece and a missing acceptance are named by the pieces' own door."""
    if look.faults and not look.declined:
        fault = (look.wrong or look.still_open)[0]
        raise Refused(
            "piece_open",
            _("Piece %(position)d, %(title)s: %(says)s")
            % {"position": look.position, "title": look.title, "says": fault.says},
            fault.cure,
        )
