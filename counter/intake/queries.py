"""What an intake asks the database: the draft, what a judgement hangs on, garments, tickets."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils.translation import gettext as _

import care_rules
from care_rules import JsonMapping
from counter.intake.drafts import Draft, DraftPiece
from counter.models import IntakeDraft, Shop
from counter.money.queries import PriceList
from tickets import house_book
from tickets.errors import Refused
from tickets.garments import returning
from tickets.garments.queries import garments_by_code, garments_of
from tickets.garments.returning import Garment
from tickets.models import Piece, Revision, Ticket


@dataclass(frozen=True)
class House:
    """What a judgement hangs on beside the draft: the shop's settings, rules and prices."""

    shop: Shop
    abilities: JsonMapping
    rules: tuple[care_rules.HouseRule, ...]
    price_list: PriceList


@dataclass(frozen=True)
class Version:
    """The care tables and how often each kind of setting was changed.

    Open work is left out: another tablet moves a piece every minute, and a promise made a moment
    ago was honest then.
    """

    tables: str
    settings: Mapping[str, int]


def under_way(key: uuid.UUID) -> IntakeDraft | None:
    return IntakeDraft.objects.select_related("customer", "ticket").filter(pk=key).first()


def known_draft(key: uuid.UUID, *, lock: bool = False) -> IntakeDraft:
    """The draft with its customer; ``Refused`` for one that was thrown away."""
    rows = IntakeDraft.objects.select_related("customer")
    row = (rows.select_for_update(of=("self",)) if lock else rows).filter(pk=key).first()
    if row is None:
        raise Refused(
            "draft_gone", _("This intake was discarded."), _("Start again at the counter.")
        )
    return row


def read_draft(row: IntakeDraft) -> Draft:
    """A stored draft as values."""
    return Draft.read(row.pieces, row.rush, row.note)


def current_version() -> Version:
    """One query."""
    return Version(care_rules.TABLES_VERSION, dict(Revision.objects.values_list("name", "number")))


def house() -> House:
    """Four queries."""
    shop = Shop.current()
    return House(shop, shop.abilities, house_book.current(), PriceList.load())


def earlier_of(pieces: Iterable[DraftPiece]) -> dict[str, Garment]:
    """The garments that came before, by number: the same few queries for any number."""
    return garments_by_code(piece.earlier for piece in pieces)


def known_codes(codes: Collection[str]) -> set[str]:
    """Those of the piece numbers that there are. No query for none."""
    if not codes:
        return set()
    return set(Piece.objects.filter(code__in=codes).values_list("code", flat=True))


def promised_first(numbers: Collection[int], most: int) -> QuerySet[Ticket]:
    """Of the tickets with these numbers, those promised first, with their customers."""
    return (
        Ticket.objects.filter(number__in=numbers)
        .select_related("customer")
        .order_by("promised_at", "number")[:most]
    )


def came_before(draft: IntakeDraft) -> list[Garment]:
    """The customer's earlier garments that are not on the draft yet, newest first."""
    here = {piece.get("earlier") for piece in draft.pieces}
    garments = garments_of(draft.customer, returning.OFFERED + len(here))
    return [garment for garment in garments if garment.piece.code not in here][: returning.OFFERED]
