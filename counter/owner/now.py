"""How the shop stands at this moment: late, at risk, on hold, unclaimed, and tomorrow's jam."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Count, QuerySet

from counter.money.queries import owed_by, owing, with_balance
from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.models import Hold, Piece, Ticket
from tickets.promise.expected import Outlook, outlook_of
from tickets.promise.jam import StationLoad, next_open_day, station_loads
from tickets.promise.queries import IN_PROCESS
from tickets.shop.calendar import ShopCalendar, business_day
from tickets.shop.queries import read_calendar

BANDS = ((0, 7), (8, 30), (31, 90), (91, None))
"""Days since a ticket was ready, both ends included."""


@dataclass(frozen=True)
class Band:
    """Ready tickets nobody fetched, by days since they were ready. ``last`` None: no upper end."""

    first: int
    last: int | None
    count: int = 0
    owed: Decimal = Decimal(0)

    @property
    def key(self) -> str:
        return f"{self.first}-{self.last}" if self.last is not None else f"{self.first}-up"

    def holds(self, days: int) -> bool:
        return days >= self.first and (self.last is None or days <= self.last)


@dataclass(frozen=True)
class NowFigures:
    at: datetime
    in_process: dict[Station, int]
    held: int
    late: Sequence[Ticket]
    at_risk: Sequence[Ticket]
    holds: Sequence[Hold]
    unclaimed: Sequence[Band]
    unpaid_count: int
    unpaid: Decimal
    next_open: date | None
    loads: Sequence[StationLoad]
    fault: str = ""

    @property
    def in_process_total(self) -> int:
        return sum(self.in_process.values())

    @property
    def holds_due(self) -> list[Hold]:
        today = business_day(self.at)
        return [hold for hold in self.holds if hold.ask_again_on <= today]

    @property
    def jammed(self) -> list[StationLoad]:
        return [load for load in self.loads if load.jammed]


def now_figures(now: datetime) -> NowFigures:
    """Everything that is true at this moment, in a fixed number of queries."""
    calendar = read_calendar()
    held = 0
    in_process: dict[Station, int] = {}
    counted = in_process_pieces().order_by().values_list("station", "state")
    for station, state, count in counted.annotate(count=Count("pk")):
        in_process[Station(station)] = in_process.get(Station(station), 0) + count
        held += count if state == PieceState.HELD else 0
    fault = ""
    next_open, risky, loads = next_open_day(business_day(now), calendar), list[Ticket](), []
    try:
        outlook = outlook_of(now)
        risky = at_risk(outlook)
        loads = station_loads(outlook, next_open) if next_open else []
    except Refused as refusal:  # the calendar has no open day to come
        fault = str(refusal)
    owed = [owed_by(ticket) for ticket in unpaid()]
    return NowFigures(
        at=now,
        in_process=in_process,
        held=held,
        late=list(late(now).select_related("customer")),
        at_risk=risky,
        holds=list(open_holds()),
        unclaimed=unclaimed_bands(now),
        unpaid_count=len(owed),
        unpaid=sum(owed, Decimal(0)),
        next_open=next_open,
        loads=loads,
        fault=fault,
    )


def in_process_pieces() -> QuerySet[Piece]:
    """Pieces tagged, and not yet racked, collected or gone back."""
    return Piece.objects.filter(state__in=IN_PROCESS)


def unready() -> QuerySet[Ticket]:
    return Ticket.objects.filter(ready_at__isnull=True, closed_at__isnull=True)


def late(now: datetime) -> QuerySet[Ticket]:
    """Tickets not fully racked whose promise is past, held pieces or not; oldest promise first."""
    return unready().filter(promised_at__lt=now).order_by("promised_at", "number")


def at_risk(outlook: Outlook) -> list[Ticket]:
    """Tickets whose promise is to come, and that the promise engine expects after it."""
    numbers = [expected.ticket.number for expected in outlook.at_risk()]
    tickets = by_number(numbers)
    return [tickets[number] for number in numbers]


def by_number(numbers: Iterable[int]) -> dict[int, Ticket]:
    """Tickets with their customers, by number: one query."""
    rows = Ticket.objects.filter(number__in=list(numbers)).select_related("customer")
    return {ticket.number: ticket for ticket in rows}


def open_holds() -> QuerySet[Hold]:
    return Hold.objects.filter(ended_at__isnull=True).select_related(
        "owner", "piece__ticket__customer"
    )


def unclaimed() -> QuerySet[Ticket]:
    """Ready tickets that wait for their customer, longest first, with their balances."""
    waiting = Ticket.objects.filter(ready_at__isnull=False, closed_at__isnull=True)
    return with_balance(waiting).select_related("customer").order_by("ready_at", "number")


def days_ready(ticket: Ticket, now: datetime) -> int:
    assert ticket.ready_at is not None
    return (business_day(now) - business_day(ticket.ready_at)).days


def unclaimed_bands(now: datetime) -> list[Band]:
    counts, owed = [0] * len(BANDS), [Decimal(0)] * len(BANDS)
    for ticket in unclaimed():
        days = days_ready(ticket, now)
        place = next(i for i, ends in enumerate(BANDS) if Band(*ends).holds(max(days, 0)))
        counts[place] += 1
        owed[place] += owed_by(ticket)
    return [Band(*ends, counts[i], owed[i]) for i, ends in enumerate(BANDS)]


def unpaid() -> QuerySet[Ticket]:
    """Tickets whose work is done, racked or collected, with something still to pay."""
    done = Ticket.objects.filter(ready_at__isnull=False)
    return owing(done).select_related("customer").order_by("ready_at", "number")


def tomorrows_load(now: datetime, calendar: ShopCalendar) -> tuple[date | None, list[StationLoad]]:
    """The next open day, and each station's work against the crew minutes of that day; nothing in
    a shop without such a day."""
    day = next_open_day(business_day(now), calendar)
    return (None, []) if day is None else (day, station_loads(outlook_of(now), day))
