"""A judged draft becomes a ticket, once: checked before the write lock, written inside it."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from counter.care import overrides
from counter.care import services as care
from counter.care.overrides import overrides_in_force
from counter.intake import wording
from counter.intake.drafts import Draft
from counter.intake.judge import Judgement, Names, judge
from counter.intake.queries import current_version, known_draft, read_draft
from counter.intake.refusals import (
    kept_promise,
    must_be_answered,
    must_be_asked,
    must_be_inspected,
    must_be_priced,
    must_be_read,
)
from counter.models import IntakeDraft, TicketLine
from counter.money import services as money
from counter.money.prices import Quote
from tickets.acting import Act
from tickets.errors import Refused
from tickets.garments.services import store_customer
from tickets.models import Customer, Piece, Ticket
from tickets.pieces.decisions import DecidedPiece
from tickets.pieces.services import NewTicket, must_be_openable, new_ticket, write_ticket
from tickets.tracking.queries import ticket_under
from tickets.writing import atomic_write

_TRIES = 3
"""How often a ticket is judged where settings change between judgement and write lock."""


@dataclass(frozen=True)
class Terms:
    """What a judged draft opens with, once nothing speaks against it."""

    pieces: Sequence[DecidedPiece]
    promised_at: datetime
    quote: Quote
    lifted: Sequence[Sequence[str]]
    """For each piece, the rules that the owner lifts by opening the ticket."""
    promise_basis: str
    """What the reckoned promise hangs on, in words."""


def open_ticket(
    customer: Customer,
    draft: Draft,
    promised_at: datetime | None,
    act: Act,
    *,
    client_key: uuid.UUID | None = None,
    promise_reason: str = "",
    judgement: Judgement | None = None,
) -> Ticket:
    """Open a ticket with its pieces, route steps, acceptances and locked price lines, or nothing.

    ``promised_at`` None takes the earliest honest promise; a later one is free, an earlier one
    needs ``promise_reason``. A known ``client_key`` returns its ticket unchanged. A ``customer``
    that is not saved yet is saved with it. ``judgement`` is one of this draft made before, by a
    caller that looked for the key itself.

    It is judged before the write lock; where settings changed meanwhile, it is judged again.
    Raises ``Refused`` for whatever ``tickets.pieces.services.open_ticket`` refuses, facts that
    can't be read, a piece of which nothing is asked, an inspection that is not answered, a
    missing price, an early promise without a reason, and an override that the owner did not record.
    """
    key = client_key or uuid.uuid4()
    if judgement is None and (known := ticket_under(key)):
        return known
    for _attempt in range(_TRIES):
        judgement = judgement or judge(draft, act.at)
        terms = terms_of(judgement, customer, promised_at, promise_reason, act)
        rows = _rows(customer, judgement.draft, terms, act, key, promise_reason)
        with atomic_write():
            if current_version() == judgement.version:
                return _write(rows, terms, act)
        judgement = None
    raise _busy()


def open_from_draft(
    row: IntakeDraft,
    promised_at: datetime | None,
    act: Act,
    *,
    promise_reason: str = "",
    names: Names | None = None,
    judgement: Judgement | None = None,
) -> Ticket:
    """Open the ticket of a stored draft, with prices, acceptances and the draft's own mark, or
    nothing.

    The draft's key is the ticket's one-time key: however often and from however many windows
    this is called, one ticket comes of it. ``judgement`` is what the caller told, of ``row`` as it
    was read, with ``names``. Where the draft or a setting changed since, it is judged once more,
    and refused as ``changed`` when count or total are others, so that the customer hears them.
    Work that moved on meanwhile refuses nobody: the promise was honest when it was made.

    Raises ``Refused`` as ``open_ticket`` does, and for anything the counter still has to answer.
    """
    row = row if judgement else known_draft(row.pk)
    draft = judgement.draft if judgement else read_draft(row)
    said = judgement.said if judgement else None
    for _attempt in range(_TRIES):
        if row.ticket_id:
            return Ticket.objects.get(pk=row.ticket_id)
        judgement = judgement or judge(draft, act.at, names)
        for piece in judgement.pieces:
            must_be_answered(piece)
        if said not in (None, judgement.said):
            raise Refused(
                "changed",
                wording.changed(len(judgement.pieces), judgement.quote.total, judgement.shop),
            )
        terms = terms_of(judgement, row.customer, promised_at, promise_reason, act)
        rows = _rows(row.customer, judgement.draft, terms, act, row.key, promise_reason)
        with atomic_write():
            locked = known_draft(row.pk, lock=True)
            same = locked.pieces == row.pieces and current_version() == judgement.version
            if same and not locked.ticket_id:
                ticket = _write(rows, terms, act)
                pieces = rows.new.pieces if ticket is rows.new.ticket else []
                _tie(locked, judgement.draft, ticket, pieces)
                return ticket
        row, judgement = locked, None
        draft = replace(read_draft(row), rush=draft.rush, note=draft.note)
    raise _busy()


def terms_of(
    judgement: Judgement,
    customer: Customer,
    promised_at: datetime | None,
    promise_reason: str,
    act: Act,
) -> Terms:
    """What the ticket opens with; raises ``Refused`` for whatever speaks against it."""
    facts = [piece.facts for piece in judgement.pieces]
    must_be_asked(judgement)
    must_be_inspected(judgement)
    recorded = [
        overrides_in_force(piece.piece.facts, recorded=piece.piece.overrides or {})
        for piece in judgement.pieces
    ]
    lifted = overrides.unrecorded(facts, recorded, act)
    must_be_read(judgement)
    promise = kept_promise(judgement, promised_at, promise_reason)
    decided = [piece.decided() for piece in judgement.pieces]
    must_be_openable(customer, decided)
    must_be_priced(judgement)
    basis = judgement.promise.reason if judgement.promise else ""
    return Terms(decided, promise, judgement.quote, lifted, basis)


@dataclass(frozen=True)
class _Rows:
    """All that the opening writes, made before the write lock."""

    new: NewTicket
    lines: Sequence[TicketLine]


def _rows(
    customer: Customer, draft: Draft, terms: Terms, act: Act, key: uuid.UUID, promise_reason: str
) -> _Rows:
    new = new_ticket(
        customer,
        terms.pieces,
        terms.promised_at,
        act,
        client_key=key,
        rush=draft.rush,
        note=draft.note,
        promise_reason=promise_reason.strip(),
        promise_basis=terms.promise_basis,
    )
    lines = [
        TicketLine(
            ticket=new.ticket,
            piece=new.pieces[line.position - 1] if line.position else None,
            text=line.text[:120],
            amount=line.amount or Decimal(0),
        )
        for line in terms.quote.lines
    ]
    money.charge_at_opening(new.ticket, lines)
    return _Rows(new, lines)


def _write(rows: _Rows, terms: Terms, act: Act) -> Ticket:
    customer = rows.new.ticket.customer
    if customer._state.adding:
        store_customer(customer)
    ticket = write_ticket(rows.new, act)
    if ticket is not rows.new.ticket:  # another till opened it a moment ago
        if ticket.customer_id != customer.pk:
            transaction.set_rollback(True)  # it made a customer of its own
        return ticket
    TicketLine.objects.bulk_create(rows.lines)
    care.record_at_opening(rows.new.pieces, terms.lifted, act)
    return ticket


def _tie(row: IntakeDraft, draft: Draft, ticket: Ticket, pieces: Sequence[Piece]) -> None:
    """The draft keeps what it became, and its records follow to the pieces."""
    recorded = {
        draft_piece.id: piece
        for draft_piece, piece in zip(draft.pieces, pieces, strict=False)
        if draft_piece.overrides is not None
    }
    care.keep_with_pieces(row, recorded)
    row.pieces, row.rush, row.note = draft.stored_pieces(), draft.rush, draft.note
    row.ticket = ticket
    row.save(update_fields=["pieces", "rush", "note", "ticket", "changed_at"])


def _busy() -> Refused:
    return Refused(
        "busy",
        _("The shop's settings are being changed at this moment."),
        _("Press the button again."),
    )
