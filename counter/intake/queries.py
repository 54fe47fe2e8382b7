"""What an intake asks the database: the draft, what a judgement hangs on, garments, tickets."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Exists, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _

import care_rules
from care_rules import JsonMapping
from counter.intake.drafts import Draft, DraftPiece
from counter.models import IntakeDraft, Payment, Shop, TicketLine
from counter.money.queries import PriceList, charged_lines
from tickets import house_book
from tickets.errors import Refused
from tickets.garments import returning
from tickets.garments.queries import find_customers, garments_by_code, garments_of
from tickets.garments.returning import Garment
from tickets.models import Customer, Piece, Revision, Ticket

_OF_STATE = {
    "open": Q(ready_at__isnull=True, closed_at__isnull=True),
    "ready": Q(ready_at__isnull=False, closed_at__isnull=True),
    "closed": Q(closed_at__isnull=False),
}


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


def listed_tickets() -> QuerySet[Ticket]:
    """Every ticket with how many pieces it has as ``piece_count``, the newest first."""
    pieces = Piece.objects.filter(ticket=OuterRef("pk")).order_by().values("ticket")
    count = Subquery(pieces.annotate(count=Count("pk")).values("count"))
    tickets = Ticket.objects.select_related("customer").annotate(piece_count=Coalesce(count, 0))
    return tickets.order_by("-number")


def ticket_in_full(number: int) -> Ticket | None:
    """A ticket as the list has it, with its pieces, payments and lines; None for none.

    A line says as ``charged`` whether it counts: not for work on a piece that went back undone.
    """
    charged = charged_lines().filter(pk=OuterRef("pk"))
    lines = TicketLine.objects.select_related("piece").annotate(charged=Exists(charged))
    tickets = listed_tickets().prefetch_related(
        Prefetch("pieces", Piece.objects.select_related("ticket", "rack_place")),
        Prefetch("lines", lines),
        "payments",
    )
    return tickets.filter(number=number).first()


def kinds_on(ticket: Ticket) -> list[str]:
    """The kinds of a ticket's pieces, in order."""
    return list(ticket.pieces.order_by("position").values_list("kind", flat=True))


def narrowed_to_state(tickets: QuerySet[Ticket], state: str) -> QuerySet[Ticket]:
    """Those of the tickets that are open, ready or closed."""
    return tickets.filter(_OF_STATE[state])


def narrowed_to_here(tickets: QuerySet[Ticket], yes: bool) -> QuerySet[Ticket]:
    """Those of the tickets that are still in the shop, or those that are closed."""
    return tickets.filter(closed_at__isnull=yes)


def narrowed_to_unready(tickets: QuerySet[Ticket], now: datetime, yes: bool) -> QuerySet[Ticket]:
    """Those of the tickets that are not ready after their promised moment, or all others."""
    late = _OF_STATE["open"] & Q(promised_at__lt=now)
    return tickets.filter(late if yes else ~late)


def narrowed_to_changed(tickets: QuerySet[Ticket], since: datetime) -> QuerySet[Ticket]:
    """Those of the tickets that were opened or paid, or of which a piece was moved or the customer
    changed, since then."""
    moved = Piece.objects.filter(since__gte=since).order_by().values("ticket")
    paid = Payment.objects.filter(at__gte=since).order_by().values("ticket")
    opened = Ticket.objects.filter(opened_at__gte=since).order_by().values("pk")
    customers = Customer.objects.filter(changed_at__gte=since).order_by().values("pk")
    theirs = Ticket.objects.filter(customer__in=customers).order_by().values("pk")
    return tickets.filter(pk__in=moved.union(paid, opened, theirs))


def narrowed_to_people(tickets: QuerySet[Ticket], text: str) -> QuerySet[Ticket]:
    """Those of the tickets whose customers a search finds."""
    people = find_customers(text, limit=None)
    return tickets.filter(customer__in=people.order_by().values("pk"))


def came_before(draft: IntakeDraft) -> list[Garment]:
    """The customer's earlier garments that are not on the draft yet, newest first."""
    here = {piece.get("earlier") for piece in draft.pieces}
    garments = garments_of(draft.customer, returning.OFFERED + len(here))
    return [garment for garment in garments if garment.piece.code not in here][: returning.OFFERED]
