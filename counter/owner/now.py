"""How the shop stands at this moment: late, at risk, on hold, unclaimed, and tomorrow's jam."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import Count, QuerySet, Sum

from counter.money import services as payments
from tickets.choices import CLOSED_STATES, WORK_STATIONS, PieceState, Station
from tickets.errors import Refused
from tickets.models import Hold, Piece, RouteStep, Ticket
from tickets.promise.expected import Outlook
from tickets.shop.calendar import ShopCalendar, business_day
from tickets.shop.queries import crews_since, read_calendar

BUSY = 0.9
"""Above this share of its minutes a queue grows quickly (queueing theory; from memory)."""

BANDS = ((0, 7), (8, 30), (31, 90), (91, None))
"""Days since a ticket was ready, both ends included."""

IN_PROCESS = (PieceState.WAITING, PieceState.HELD, PieceState.ASSEMBLED)
_LONGEST_LOOK = 60


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
class StationLoad:
    """Crew minutes of one station: queued now, left today, and there on the next open day."""

    station: Station
    queued: float
    left_today: float
    tomorrow: float

    @property
    def carried(self) -> float:
        """Minutes that today's crew can't do any more."""
        return max(self.queued - self.left_today, 0.0)

    @property
    def share(self) -> float | None:
        """Carried minutes as a share of the next open day; None when nobody works there then."""
        return self.carried / self.tomorrow if self.tomorrow else None

    @property
    def percent(self) -> float | None:
        return None if self.share is None else 100 * self.share

    @property
    def jammed(self) -> bool:
        return self.share > BUSY if self.share is not None else self.carried > 0


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
    try:
        risky = at_risk(now)
    except Refused as refusal:  # the calendar has no open day to come
        risky, fault = [], str(refusal)
    owed = [payments.owed_by(ticket) for ticket in unpaid()]
    next_open, loads = tomorrows_load(now, calendar)
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


def at_risk(now: datetime) -> list[Ticket]:
    """Tickets whose promise is to come, and that the promise engine expects after it."""
    return [expected.ticket for expected in Outlook(now).at_risk()]


def open_holds() -> QuerySet[Hold]:
    return Hold.objects.filter(ended_at__isnull=True).select_related(
        "owner", "piece__ticket__customer"
    )


def unclaimed() -> QuerySet[Ticket]:
    """Ready tickets that wait for their customer, longest first, with their balances."""
    waiting = Ticket.objects.filter(ready_at__isnull=False, closed_at__isnull=True)
    return payments.with_balance(waiting).select_related("customer").order_by("ready_at", "number")


def days_ready(ticket: Ticket, now: datetime) -> int:
    assert ticket.ready_at is not None
    return (business_day(now) - business_day(ticket.ready_at)).days


def unclaimed_bands(now: datetime) -> list[Band]:
    counts, owed = [0] * len(BANDS), [Decimal(0)] * len(BANDS)
    for ticket in unclaimed():
        days = days_ready(ticket, now)
        place = next(i for i, ends in enumerate(BANDS) if Band(*ends).holds(max(days, 0)))
        counts[place] += 1
        owed[place] += payments.owed_by(ticket)
    return [Band(*ends, counts[i], owed[i]) for i, ends in enumerate(BANDS)]


def unpaid() -> QuerySet[Ticket]:
    """Tickets whose work is done, racked or collected, with something still to pay."""
    done = Ticket.objects.filter(ready_at__isnull=False)
    return payments.owing(done).select_related("customer").order_by("ready_at", "number")


def queued_steps() -> QuerySet[RouteStep]:
    """Open steps of pieces that can be worked on; a piece on hold waits for an answer instead."""
    return RouteStep.objects.filter(done_at__isnull=True).exclude(
        piece__state__in=[*CLOSED_STATES, PieceState.HELD]
    )


def tomorrows_load(now: datetime, calendar: ShopCalendar) -> tuple[date | None, list[StationLoad]]:
    """The next open day, and each station's queue against the crew minutes of that day."""
    crews = crews_since(business_day(now))
    queued = dict(queued_steps().order_by().values_list("station").annotate(total=Sum("minutes")))
    today = business_day(now)
    later = (today + timedelta(days=ahead) for ahead in range(1, _LONGEST_LOOK))
    next_open = next((day for day in later if calendar.opening(day)), None)
    left = _open_minutes(calendar, today, since=now)
    there = _open_minutes(calendar, next_open) if next_open else 0.0
    now_there, next_there = crews.on(today), crews.on(next_open or today)
    loads = []
    for station in WORK_STATIONS:
        crew, then = now_there.get(station, 1.0), next_there.get(station, 1.0)
        if minutes := float(queued.get(station, 0)):
            loads.append(StationLoad(station, minutes, left * crew, there * then))
    return next_open, loads


def _open_minutes(calendar: ShopCalendar, day: date, since: datetime | None = None) -> float:
    """Minutes of work on a day, breaks left out, or those that are left of it from a moment."""
    window = calendar.opening(day)
    if window is None:
        return 0.0
    opens, closes = window
    return calendar.open_minutes(max(opens, since) if since else opens, closes)
