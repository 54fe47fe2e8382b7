"""All that changes a draft under way; every change is saved, so nothing is lost."""

from __future__ import annotations

import copy
import uuid
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from counter.care import overrides
from counter.care import services as care
from counter.intake import came_before
from counter.intake.drafts import Draft, DraftPiece, PieceChanges
from counter.intake.judge import Judgement
from counter.intake.photos import drop_photo
from counter.intake.queries import known_draft, read_draft
from counter.models import IntakeDraft, Shop
from tickets.acting import Act
from tickets.errors import Kind, Refused
from tickets.garments.queries import garments_by_code, must_come_again
from tickets.models import Customer
from tickets.pieces.decisions import MOST_PIECES
from tickets.writing import atomic_write


def start_draft(customer: Customer, by: User) -> IntakeDraft:
    """The customer's intake under way, or a new one: a second tap never makes a second draft."""
    with atomic_write():
        Customer.objects.select_for_update().get(pk=customer.pk)
        under_way = customer.drafts.filter(ticket__isnull=True).first()
        return under_way or IntakeDraft.objects.create(customer=customer, started_by=by)


def add_piece(key: uuid.UUID, expected: int, like: str = "") -> int:
    """Add a piece and return its position from 1.

    ``expected`` is how many pieces the window showed: a second tap finds one more and adds none.
    ``like`` copies facts and services of that piece, but never what was seen on it.
    """

    def change(draft: Draft, _customer: Customer) -> Draft:
        count = len(draft.pieces)
        if count != expected or (count and draft.pieces[-1].is_blank):
            return draft
        _must_have_room(count)
        piece = DraftPiece.blank()
        if source := draft.find(like):
            facts = copy.deepcopy(dict(source.facts))
            for seen_on_the_other in ("stains", "damage", "hazards", "overrides"):
                facts.pop(seen_on_the_other, None)
            piece = replace(piece, facts=facts, prices=dict(source.prices))
        return replace(draft, pieces=(*draft.pieces, piece))

    return len(_change(key, change).pieces)


def add_earlier(key: uuid.UUID, code: str) -> int:
    """Add a garment that comes again, by the number of its last piece; returns its position.

    A second tap finds it there and adds none. Raises ``Refused`` for a garment of another
    customer, one that is still in the shop, and one that came again already.
    """
    position = 0

    def change(draft: Draft, customer: Customer) -> Draft:
        nonlocal position
        numbers = [piece.earlier for piece in draft.pieces]
        if code in numbers:
            position = numbers.index(code) + 1
            return draft
        garment = garments_by_code([code]).get(code)
        if garment is None:
            raise Refused(
                "unknown_piece",
                _("There is no piece %(code)s.") % {"code": code[:12]},
                _("Choose a garment from the list, or add it as a new one."),
                kind=Kind.NOT_FOUND,
            )
        others = draft.pieces
        blank = DraftPiece.blank()
        if others and others[-1].is_blank:
            others, blank = others[:-1], others[-1]
        position = len(others) + 1
        must_come_again(customer, [*([None] * len(others)), garment.piece])
        _must_have_room(len(others))
        again = replace(blank, **came_before.taken_over(garment))
        return replace(draft, pieces=(*others, again))

    _change(key, change)
    return position


def save_piece(key: uuid.UUID, piece_id: str, changes: PieceChanges) -> IntakeDraft:
    """Replace the named fields of one piece."""

    def change(draft: Draft, _customer: Customer) -> Draft:
        if draft.find(piece_id) is None:
            raise _piece_gone()
        return _with_piece(draft, piece_id, changes)

    return _change(key, change)


def remove_piece(key: uuid.UUID, piece_id: str) -> None:
    """Take a piece off the draft; one that is gone already is no fault."""
    photo = ""

    def change(draft: Draft, _customer: Customer) -> Draft:
        nonlocal photo
        piece = draft.find(piece_id)
        if piece is None:
            return draft
        photo = piece.photo
        return replace(draft, pieces=tuple(other for other in draft.pieces if other.id != piece_id))

    _change(key, change)
    drop_photo(photo)


def save_ticket_part(
    key: uuid.UUID,
    *,
    rush: bool,
    note: str,
    accepted: Mapping[str, Mapping[str, tuple[str, str]]],
) -> IntakeDraft:
    """Rush, note and, for each piece id, caution key -> (who accepts, the words read out)."""

    def change(draft: Draft, _customer: Customer) -> Draft:
        draft = replace(draft, rush=rush, note=note)
        for piece_id, given in accepted.items():
            named = {
                caution: (" ".join(name.split())[:120], says)
                for caution, (name, says) in given.items()
                if name.strip()
            }
            draft = _with_piece(
                draft,
                piece_id,
                {
                    "accepted": {caution: name for caution, (name, _says) in named.items()},
                    "heard": {caution: says for caution, (_name, says) in named.items()},
                },
            )
        return draft

    return _change(key, change)


def save_judged(key: uuid.UUID, judgement: Judgement) -> IntakeDraft:
    """Save rush, note and names of a judged draft; all else stays as it is stored by now."""
    judged_pieces = {piece.id: piece for piece in judgement.draft.pieces}

    def change(draft: Draft, _customer: Customer) -> Draft:
        pieces = tuple(
            replace(
                piece,
                accepted=judged_pieces[piece.id].accepted,
                heard=judged_pieces[piece.id].heard,
            )
            if piece.id in judged_pieces
            else piece
            for piece in draft.pieces
        )
        return Draft(pieces, judgement.draft.rush, judgement.draft.note)

    return _change(key, change)


def discard(key: uuid.UUID) -> None:
    """Throw a draft away, with its photos. An opened one is refused, a missing one is done."""
    with atomic_write():
        draft = IntakeDraft.objects.select_for_update().filter(pk=key).first()
        if draft is None:
            return
        _must_be_unopened(draft)
        photos = [piece["photo"] for piece in draft.pieces]
        draft.delete()
    for photo in photos:
        drop_photo(photo)


def record_overrides(
    key: uuid.UUID, piece_id: str, wanted: Collection[str], reason: str, act: Act
) -> IntakeDraft:
    """Record which rules are lifted on a draft piece: ``wanted`` and no others.

    Raises ``Refused`` for anyone but the owner, for a change without a reason, and for a rule
    that does not hold this piece below its label.
    """
    overrides.must_be_owner(act)
    abilities = Shop.current().abilities
    with atomic_write():
        row = IntakeDraft.objects.select_for_update(of=("self",)).filter(pk=key).first()
        piece = read_draft(row).find(piece_id) if row else None
        if row is None or piece is None:
            raise _piece_gone()
        offered = overrides.choices(piece.facts, piece.overrides or {}, abilities)
        seal = overrides.seal_of(piece.facts)
        if not care.record(row, piece_id, offered, seal, wanted, reason, act):
            return row
        return save_piece(key, piece_id, {"overrides": dict.fromkeys(wanted, seal)})


def _with_piece(draft: Draft, piece_id: str, changes: PieceChanges) -> Draft:
    return replace(
        draft,
        pieces=tuple(
            replace(piece, **changes) if piece.id == piece_id else piece for piece in draft.pieces
        ),
    )


def _change(key: uuid.UUID, change: Callable[[Draft, Customer], Draft]) -> IntakeDraft:
    with atomic_write():
        row = known_draft(key, lock=True)
        _must_be_unopened(row)
        draft = change(read_draft(row), row.customer)
        row.pieces, row.rush, row.note = draft.stored_pieces(), draft.rush, draft.note
        row.save(update_fields=["pieces", "rush", "note", "changed_at"])
    return row


def _piece_gone() -> Refused:
    return Refused(
        "piece_gone",
        _("This piece was taken off in another window."),
        _("Go back to the list of pieces."),
    )


def _must_have_room(pieces: int) -> None:
    if pieces >= MOST_PIECES:
        raise Refused(
            "too_many_pieces",
            _("A ticket takes %(most)d pieces.") % {"most": MOST_PIECES},
            _("Open a second ticket for the rest."),
            kind=Kind.INVALID,
        )


def _must_be_unopened(draft: IntakeDraft) -> None:
    if draft.ticket_id:
        raise Refused(
            "already_open",
            _("This intake is a ticket already."),
            _("Changes are made on the ticket now."),
        )
