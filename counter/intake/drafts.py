"""An intake under way: its pieces are saved after every change, so nothing is lost.

A piece of a draft is one JSON object: ``id`` (never changes, so two windows cannot mix up
pieces), ``facts`` (care contract), ``inspection``, ``description``, ``set_mark``, ``weight_g``,
``photo`` (stored name), ``accepted`` (caution key -> name), ``heard`` (caution key -> the words
that name said yes to), ``prices`` (line key -> typed text), ``earlier`` (number of the piece
that the garment was at its visit before), ``washes_before`` and ``washes_allowed`` (as typed) and,
where the owner recorded any, ``overrides`` (see ``counter.care.overrides``).
"""

from __future__ import annotations

import copy
import uuid
from collections.abc import Callable, Mapping
from typing import Any

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from counter.intake import came_before
from counter.intake.photos import drop_photo
from counter.models import IntakeDraft
from tickets.errors import Kind, Refused
from tickets.garments.queries import garments_by_code, must_come_again
from tickets.models import Customer
from tickets.pieces.opening import MOST_PIECES
from tickets.writing import atomic_write

DraftPiece = dict[str, Any]


def blank_piece() -> DraftPiece:
    """A piece of which nothing is known, not even what is asked: the counter chooses that."""
    return {
        "id": uuid.uuid4().hex[:12],
        "facts": {},
        "inspection": {},
        "description": "",
        "set_mark": "",
        "weight_g": 0,
        "photo": "",
        "accepted": {},
        "heard": {},
        "prices": {},
        "earlier": "",
        "washes_before": "",
        "washes_allowed": "",
    }


def is_blank(piece: Mapping[str, Any]) -> bool:
    fresh = blank_piece()
    return all(piece.get(name, fresh[name]) == fresh[name] for name in fresh if name != "id")


def start(customer: Customer, by: User) -> IntakeDraft:
    """The customer's intake under way, or a new one: a second tap never makes a second draft."""
    with atomic_write():
        Customer.objects.select_for_update().get(pk=customer.pk)
        under_way = customer.drafts.filter(ticket__isnull=True).first()
        return under_way or IntakeDraft.objects.create(customer=customer, started_by=by)


def under_way(key: uuid.UUID) -> IntakeDraft | None:
    return IntakeDraft.objects.select_related("customer", "ticket").filter(pk=key).first()


def find_piece(draft: IntakeDraft, piece_id: str) -> DraftPiece | None:
    return next((piece for piece in draft.pieces if piece["id"] == piece_id), None)


def add_piece(key: uuid.UUID, expected: int, like: str = "") -> int:
    """Add a piece and return its position from 1.

    ``expected`` is how many pieces the window showed: a second tap finds one more and adds none.
    ``like`` copies facts and services of that piece, but never what was seen on it.
    """
    position = 0

    def change(draft: IntakeDraft) -> None:
        nonlocal position
        position = len(draft.pieces)
        if position != expected or (position and is_blank(draft.pieces[-1])):
            return
        _must_have_room(position)
        piece = blank_piece()
        if source := find_piece(draft, like):
            facts = copy.deepcopy(source["facts"])
            for seen_on_the_other in ("stains", "damage", "hazards", "overrides"):
                facts.pop(seen_on_the_other, None)
            piece |= {"facts": facts, "prices": dict(source["prices"])}
        draft.pieces.append(piece)
        position += 1

    _change(key, change)
    return position


def add_earlier(key: uuid.UUID, code: str) -> int:
    """Add a garment that comes again, by the number of its last piece; returns its position.

    A second tap finds it there and adds none. Raises ``Refused`` for a garment of another
    customer, one that is still in the shop, and one that came again already.
    """
    position = 0

    def change(draft: IntakeDraft) -> None:
        nonlocal position
        numbers = [piece.get("earlier") for piece in draft.pieces]
        if code in numbers:
            position = numbers.index(code) + 1
            return
        garment = garments_by_code([code]).get(code)
        if garment is None:
            raise Refused(
                "unknown_piece",
                _("There is no piece %(code)s.") % {"code": code[:12]},
                _("Choose a garment from the list, or add it as a new one."),
                kind=Kind.NOT_FOUND,
            )
        blank = draft.pieces.pop() if draft.pieces and is_blank(draft.pieces[-1]) else None
        position = len(draft.pieces) + 1
        before = [None] * (position - 1)
        must_come_again(draft.customer, [*before, garment.piece])
        _must_have_room(position - 1)
        draft.pieces.append((blank or blank_piece()) | came_before.taken_over(garment))

    _change(key, change)
    return position


def save_piece(key: uuid.UUID, piece_id: str, changes: Mapping[str, Any]) -> IntakeDraft:
    """Replace the named fields of one piece."""

    def change(draft: IntakeDraft) -> None:
        piece = find_piece(draft, piece_id)
        if piece is None:
            raise Refused(
                "piece_gone",
                _("This piece was taken off in another window."),
                _("Go back to the list of pieces."),
            )
        piece.update(changes)

    return _change(key, change)


def remove_piece(key: uuid.UUID, piece_id: str) -> None:
    """Take a piece off the draft; one that is gone already is no fault."""
    photo = ""

    def change(draft: IntakeDraft) -> None:
        nonlocal photo
        if piece := find_piece(draft, piece_id):
            photo = piece["photo"]
            draft.pieces.remove(piece)

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

    def change(draft: IntakeDraft) -> None:
        draft.rush, draft.note = rush, note
        for piece in draft.pieces:
            if piece["id"] in accepted:
                given = {
                    caution: (" ".join(name.split())[:120], says)
                    for caution, (name, says) in accepted[piece["id"]].items()
                    if name.strip()
                }
                piece["accepted"] = {caution: name for caution, (name, _says) in given.items()}
                piece["heard"] = {caution: says for caution, (_name, says) in given.items()}

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


def _change(key: uuid.UUID, change: Callable[[IntakeDraft], None]) -> IntakeDraft:
    with atomic_write():
        draft = (
            IntakeDraft.objects.select_for_update(of=("self",))
            .select_related("customer")
            .filter(pk=key)
            .first()
        )
        if draft is None:
            raise Refused(
                "draft_gone", _("This intake was discarded."), _("Start again at the counter.")
            )
        _must_be_unopened(draft)
        change(draft)
        draft.save(update_fields=["pieces", "rush", "note", "changed_at"])
    return draft


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
