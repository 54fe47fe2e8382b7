"""Finding a ticket to hand over, and how far its pieces are scanned out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import timedelta

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from counter.models import Pickup, PickupPiece
from counter.pickup import wording
from tickets import numbers
from tickets.acting import Act
from tickets.choices import CLOSED_STATES, PieceState
from tickets.garments.customers import FEWEST_DIGITS, enough_letters, words_of
from tickets.garments.queries import find_customers
from tickets.models import Customer, Piece, Ticket
from tickets.tracking.queries import ticket_by_number

RECENT = timedelta(days=30)


MOST_FOUND = 40


@dataclass(frozen=True)
class Found:
    """What a search met. ``only`` is the one ticket to open at once, if there is just one."""

    tickets: Sequence[Ticket] = ()
    customers: Sequence[Customer] = ()
    only: Ticket | None = None
    says: str = ""


@dataclass(frozen=True)
class CountedOut:
    """Where a pickup stands: each piece of the ticket in one of four lists, in order."""

    ticket: Ticket
    pickup: Pickup | None
    scanned: list[Piece] = field(default_factory=list)
    ready: list[Piece] = field(default_factory=list)
    missing: list[Piece] = field(default_factory=list)
    gone: list[Piece] = field(default_factory=list)

    @property
    def staying(self) -> list[Piece]:
        """Open pieces that would stay in the shop if the scanned ones left now."""
        return sorted([*self.ready, *self.missing], key=lambda piece: piece.position)

    @property
    def open_count(self) -> int:
        return len(self.scanned) + len(self.ready) + len(self.missing)

    @property
    def leavable(self) -> int:
        """How many pieces could leave now, those on the counter among them."""
        return len(self.scanned) + len(self.ready)

    @property
    def places(self) -> list[str]:
        """Rack places where pieces of this ticket hang, each once, in order."""
        hanging = [*self.scanned, *self.ready]
        return sorted({piece.rack_place.code for piece in hanging if piece.rack_place})


def find(query: str, act: Act) -> Found:
    """Tickets by claim slip, piece code, end of the phone number or part of a name.

    Tickets still in the shop come first, ready ones before the rest; those closed within the last
    30 days follow, so that a question after a pickup finds its ticket too.
    """
    query = query.strip()
    if not query:
        return Found()
    fault = ""
    try:
        code = numbers.parse_code(query)
    except numbers.NumberError as error:
        fault = str(error)
    else:
        ticket = ticket_by_number(code.ticket)
        if ticket is not None:
            return Found([ticket], only=ticket)
        fault = wording.ticket_unknown(code.ticket)
    customers = list(find_customers(query))
    if not customers:
        return Found(says=_nobody(query, fault))
    recent = Q(closed_at__isnull=True) | Q(closed_at__gte=act.at - RECENT)
    tickets = list(
        Ticket.objects.filter(recent, customer__in=customers)
        .select_related("customer")
        .prefetch_related(
            Prefetch("pieces", Piece.objects.select_related("rack_place")), "pieces__holds"
        )
        .order_by("-number")[:MOST_FOUND]
    )
    tickets.sort(
        key=lambda match: (match.closed_at is not None, match.ready_at is None, match.promised_at)
    )
    still_here = [ticket for ticket in tickets if ticket.is_open]
    only = still_here[0] if len(still_here) == 1 and len(tickets) == 1 else None
    says = ""
    if not tickets:
        says = wording.nothing_here(customers)
    return Found(tickets, customers, only, says)


def counted_out(ticket: Ticket) -> CountedOut:
    """Sort a ticket's pieces for the pickup page. Reads only."""
    pickup = ticket.pickups.filter(done_at__isnull=True).first()
    on_counter = (
        set(pickup.scanned.values_list("piece_id", flat=True)) if pickup is not None else set()
    )
    result = CountedOut(ticket, pickup)
    pieces = ticket.pieces.select_related("rack_place").prefetch_related("holds")
    for piece in pieces.order_by("position"):
        if piece.state in CLOSED_STATES:
            result.gone.append(piece)
        elif piece.state != PieceState.READY:
            result.missing.append(piece)  # also one that was scanned and then put on hold
        elif piece.pk in on_counter:
            result.scanned.append(piece)
        else:
            result.ready.append(piece)
    return result


def pickups_under_way(most: int) -> QuerySet[Pickup]:
    """Pickups of which a piece lies on the counter."""
    scanned = PickupPiece.objects.filter(pickup=OuterRef("pk"))
    begun = Pickup.objects.filter(Exists(scanned), done_at__isnull=True)
    return begun.select_related("ticket__customer", "started_by")[:most]


def pickups_done(ticket: Ticket) -> QuerySet[Pickup]:
    """Hand-overs of a ticket with what left and who gave it out."""
    done = ticket.pickups.filter(done_at__isnull=False)
    return done.select_related("done_by").prefetch_related("scanned__piece")


def handed_over(ticket: Ticket) -> list[Pickup]:
    """Hand-overs of a ticket, the earliest first."""
    return list(ticket.pickups.filter(done_at__isnull=False).order_by("done_at"))


def pickup_begun(ticket: Ticket) -> Pickup:
    """The pickup of a ticket of which a piece was scanned just now."""
    return ticket.pickups.get(done_at__isnull=True)


def pieces_out(pickup: Pickup) -> int:
    """How many pieces are scanned out of the ticket by this pickup."""
    return pickup.scanned.count()


def codes_out(pickup: Pickup) -> list[str]:
    """Numbers of the pieces that are scanned out, in order."""
    return sorted(pickup.scanned.values_list("piece__code", flat=True))


def has_others(pickup: Pickup, codes: Sequence[str]) -> bool:
    """Whether a piece that is still here is scanned out beside those with these numbers."""
    others = pickup.scanned.exclude(piece__code__in=codes)
    return others.exclude(piece__state__in=CLOSED_STATES).exists()


def _nobody(query: str, fault: str) -> str:
    letters = sum(character.isalpha() for character in query)
    digits = sum(character.isdigit() for character in query)
    enough = enough_letters(words_of(query)) if letters else digits >= FEWEST_DIGITS
    if not enough:
        return wording.too_short(query)
    if digits and not letters and len(query) >= 7 and fault:
        return fault
    return wording.nobody(query)
