"""How the shop stands at this moment: late, at risk, on hold, unclaimed, and tomorrow's jam."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from counter.money.queries import owed_by
from counter.owner import queries
from counter.owner.work_waiting import WorkWaiting, work_waiting
from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.models import Hold, Ticket
from tickets.promise.expected import Expected, Outlook
from tickets.promise.jam import StationLoad, next_open_day, station_loads
from tickets.promise.open_work import open_work
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
    unsent: int
    work: WorkWaiting | None = None
    expected: Mapping[int, Expected] = field(default_factory=dict, repr=False)
    fault: str = ""

    @property
    def in_process_total(self) -> int:
        return sum(self.in_process.values())

    @property
    def unclaimed_count(self) -> int:
        return sum(band.count for band in self.unclaimed)

    @property
    def unclaimed_owed(self) -> Decimal:
        return sum((band.owed for band in self.unclaimed), Decimal(0))

    @property
    def holds_due(self) -> list[Hold]:
        today = business_day(self.at)
        return [hold for hold in self.holds if hold.ask_again_on <= today]

    @property
    def jammed(self) -> list[StationLoad]:
        return [load for load in self.loads if load.jammed]


def now_figures(now: datetime, calendar: ShopCalendar | None = None) -> NowFigures:
    """Everything that is true at this moment, in a fixed number of queries."""
    calendar = calendar or read_calendar()
    held = 0
    in_process: dict[Station, int] = {}
    for station, state, count in queries.counted_in_process():
        in_process[Station(station)] = in_process.get(Station(station), 0) + count
        held += count if state == PieceState.HELD else 0
    fault = ""
    next_open, risky = next_open_day(business_day(now), calendar), list[Ticket]()
    loads: Sequence[StationLoad] = ()
    work, expected = None, dict[int, Expected]()
    try:
        outlook = open_work(now).outlook
        risky = at_risk(outlook)
        loads = station_loads(outlook, next_open) if next_open else ()
        work, expected = work_waiting(outlook), outlook.tickets
    except Refused as refusal:  # the calendar has no open day to come
        fault = str(refusal)
    unpaid_count, unpaid = queries.unpaid_sum()
    return NowFigures(
        at=now,
        in_process=in_process,
        held=held,
        late=list(queries.late_tickets(now)),
        at_risk=risky,
        holds=list(queries.open_holds()),
        unclaimed=unclaimed_bands(now),
        unpaid_count=unpaid_count,
        unpaid=unpaid,
        next_open=next_open,
        loads=loads,
        unsent=queries.unsent_messages(),
        work=work,
        expected=expected,
        fault=fault,
    )


def at_risk(outlook: Outlook) -> list[Ticket]:
    """Tickets whose promise is to come, and that the promise engine expects after it."""
    numbers = [expected.ticket.number for expected in outlook.at_risk()]
    tickets = queries.tickets_by_number(numbers)
    return [tickets[number] for number in numbers]


def days_ready(ticket: Ticket, now: datetime) -> int:
    assert ticket.ready_at is not None
    return (business_day(now) - business_day(ticket.ready_at)).days


def unclaimed_bands(now: datetime) -> list[Band]:
    counts, owed = [0] * len(BANDS), [Decimal(0)] * len(BANDS)
    for ticket in queries.unclaimed():
        days = days_ready(ticket, now)
        place = next(i for i, ends in enumerate(BANDS) if Band(*ends).holds(max(days, 0)))
        counts[place] += 1
        owed[place] += owed_by(ticket)
    return [Band(*ends, counts[i], owed[i]) for i, ends in enumerate(BANDS)]


def tomorrows_load(
    now: datetime, calendar: ShopCalendar
) -> tuple[date | None, Sequence[StationLoad]]:
    """The next open day, and each station's work against the crew minutes of that day; nothing in
    a shop without such a day."""
    day = next_open_day(business_day(now), calendar)
    return (None, ()) if day is None else (day, station_loads(open_work(now).outlook, day))
