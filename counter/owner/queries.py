"""The moves, tickets, pieces and payments that the owner's figures are counted from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import Count, F, Q, QuerySet, Sum, TextField
from django.db.models.functions import Cast

from counter.messages.queries import due_in
from counter.models import Notice, Payment, TicketLine
from counter.money.queries import of_hundredths, owing
from counter.owner.kept_counts import KeptCounts
from tickets.choices import CLOSED_STATES, MoveKind, PieceState, Station
from tickets.models import Hold, Move, Piece, Ticket
from tickets.promise.queries import IN_PROCESS
from tickets.shop.calendar import start_of

SENT_BACK = (MoveKind.REDO, MoveKind.STAIN_STILL_THERE)
WORK_DONE = (MoveKind.WORKED, MoveKind.STAIN_GONE, MoveKind.STAIN_STILL_THERE)


@dataclass(frozen=True)
class DayMoves:
    """The moves of a day, read once."""

    rows: Sequence[tuple[int, int, str, str, str, str, str]]

    @classmethod
    def read(cls, day: date) -> DayMoves:
        fields = (
            "piece_id",
            "number",
            "kind",
            "from_station",
            "to_station",
            "to_state",
            "reason",
        )
        moves = Move.objects.filter(business_day=day).order_by("piece_id", "number")
        return cls(list(moves.values_list(*fields)))

    def through_stations(self) -> tuple[Counter[str], Counter[str]]:
        """How many pieces came to and left each station."""
        came: Counter[str] = Counter()
        left: Counter[str] = Counter()
        for _piece, _number, _kind, origin, target, state, _reason in self.rows:
            if origin != target:
                came[target] += 1
                left[origin] += 1
            elif state in CLOSED_STATES:
                left[origin] += 1
        return came, left

    def sent_back(self) -> list[tuple[int, str, str]]:
        """Piece, station it goes back to, and why."""
        return [
            (piece, target, reason or str(MoveKind(kind).label))
            for piece, _number, kind, _origin, target, _state, reason in self.rows
            if kind in SENT_BACK
        ]

    def processed(self) -> set[int]:
        return {row[0] for row in self.rows if row[2] in WORK_DONE or row[2] in SENT_BACK}

    def inspected(self) -> dict[int, int | None]:
        """Piece -> number of the move that passed it at the check, None when it was sent back."""
        first_pass: dict[int, int | None] = {}
        for piece, number, kind, origin, _target, _state, _reason in self.rows:
            if origin == Station.CHECK and kind == MoveKind.WORKED:
                first_pass[piece] = number
            elif origin == Station.CHECK and kind in SENT_BACK:
                first_pass.setdefault(piece, None)
        return first_pass


def due_on(day: date) -> QuerySet[Ticket]:
    """Tickets promised for a day, with their customers."""
    due = Ticket.objects.filter(promise_day=day).select_related("customer")
    return due.order_by("promised_at", "number")


def racked_on(day: date) -> QuerySet[Ticket]:
    """Tickets that became fully racked on a day, with their customers."""
    begins, ends = start_of(day), start_of(day + timedelta(days=1))
    racked = Ticket.objects.filter(ready_at__gte=begins, ready_at__lt=ends)
    return racked.select_related("customer").order_by("ready_at")


def finished_moves(first: date, last: date) -> QuerySet[Move]:
    """Moves that racked a piece, in order; hanging a ready piece at another place is none."""
    racked = Move.objects.filter(
        business_day__range=(first, last),
        kind=MoveKind.RACKED,
        from_state=PieceState.ASSEMBLED,
    )
    return _in_order(racked)


def right_first_time(inspected: dict[int, int | None]) -> set[int]:
    """Inspected pieces that passed and were never sent back before that."""
    back: dict[int, int] = {}
    moves = Move.objects.filter(piece__in=list(inspected), kind__in=SENT_BACK).order_by()
    for piece, number in moves.values_list("piece_id", "number"):
        back[piece] = min(number, back.get(piece, number))
    return {
        piece
        for piece, passed in inspected.items()
        if passed is not None and back.get(piece, passed) >= passed
    }


# A day


def racked_times(day: date) -> list[timedelta]:
    """How long each ticket took that became fully racked on a day."""
    rows = racked_on(day).values_list("ready_at", "opened_at")
    return [ready - opened for ready, opened in rows if ready is not None]


def finished_times(first: date, last: date) -> list[tuple[date, int, datetime, datetime]]:
    """Of each move that racked a piece: the day, the piece, when, and when it came in."""
    names = "business_day", "piece_id", "at", "piece__ticket__opened_at"
    return list(finished_moves(first, last).values_list(*names))


def booked_on(day: date) -> tuple[Decimal, int]:
    """The value of the tickets opened on a day as priced then, and how many they are."""
    booked = TicketLine.objects.filter(ticket__business_day=day).aggregate(
        sum=Sum("amount"), tickets=Count("ticket", distinct=True)
    )
    return booked["sum"] or Decimal(0), booked["tickets"]


def opened_on(day: date) -> list[tuple[Ticket, Decimal]]:
    """Tickets opened on a day, by number, with what they were priced at."""
    tickets = Ticket.objects.filter(business_day=day).select_related("customer")
    priced = tickets.annotate(value=Sum("lines__amount")).order_by("number")
    return [(ticket, ticket.value or Decimal(0)) for ticket in priced]


def taken_on(day: date) -> QuerySet[Payment]:
    """What was taken and given back on a day, for whom and by whom."""
    payments = Payment.objects.filter(business_day=day)
    return payments.select_related("ticket__customer", "by")


def moves_to(station: Station, day: date) -> QuerySet[Move]:
    """Moves of a day that brought a piece to a station, in order."""
    moves = Move.objects.filter(business_day=day, to_station=station)
    return _in_order(moves.exclude(from_station=station))


def moves_from(station: Station, day: date) -> QuerySet[Move]:
    """Moves of a day that took a piece from a station or out of the shop, in order."""
    moves = Move.objects.filter(business_day=day, from_station=station)
    gone = moves.filter(to_station=station, to_state__in=CLOSED_STATES)
    return _in_order(moves.exclude(to_station=station) | gone)


def moves_back(day: date) -> QuerySet[Move]:
    """Moves of a day that sent a piece back, in order."""
    return _in_order(Move.objects.filter(business_day=day, kind__in=SENT_BACK))


def _in_order(moves: QuerySet[Move]) -> QuerySet[Move]:
    """With piece, customer and who made each."""
    return moves.select_related("piece__ticket__customer", "by").order_by("at", "pk")


# A quarter, added up by the database: one row for each day


_pieces = KeptCounts()
_MANY_MOVES = 5000


def forget_counts() -> None:
    """For whoever goes to another database: count each day anew."""
    _pieces.forget()


def pieces_by_day(first: date, last: date) -> list[tuple[date, int, int, int]]:
    """Of each day with any: pieces racked, pieces sent back, and pieces worked on at all. Only days
    for which something was written since the last look are counted again."""
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    newest, touched = _written_since(_pieces.since)
    kept = _pieces.of(days, newest, touched)
    missing = [day for day in days if day not in kept]
    if missing:
        counted = _count_pieces(missing)
        kept |= {day: counted.get(day, (0, 0, 0)) for day in missing}
        _pieces.keep({day: kept[day] for day in missing}, newest)
    return [(day, *kept[day]) for day in days if any(kept[day])]


def _written_since(number: int) -> tuple[int, set[date] | None]:
    """The highest number of a move, and the days of those above ``number``; None for the days where
    there was no look before, or so many that to count all days anew is quicker."""
    moves = Move.objects.order_by("-pk")
    if number <= 0:
        return moves.values_list("pk", flat=True).first() or 0, None
    rows = moves.filter(pk__gt=number).values_list("pk", "business_day")[:_MANY_MOVES]
    newest = rows[0][0] if rows else 0
    return newest, {day for _number, day in rows} if len(rows) < _MANY_MOVES else None


def _count_pieces(days: Sequence[date]) -> dict[date, tuple[int, int, int]]:
    racked = Q(kind=MoveKind.RACKED, from_state=PieceState.ASSEMBLED)
    back, worked = Q(kind__in=SENT_BACK), Q(kind__in=(*WORK_DONE, *SENT_BACK))
    moves = Move.objects.filter(
        racked | worked, business_day__range=(days[0], days[-1]), business_day__in=days
    )
    rows = (
        moves.order_by()
        .values_list("business_day")
        .annotate(
            racked=Count("piece", filter=racked, distinct=True),
            back=Count("piece", filter=back, distinct=True),
            worked=Count("piece", filter=worked, distinct=True),
        )
    )
    return {day: (racked, back, worked) for day, racked, back, worked in rows}


def promises_by_day(first: date, last: date, now: datetime) -> list[tuple[date, int, int, int]]:
    """Of each day: tickets due, those racked by their promise, and those still to come."""
    tickets = Ticket.objects.filter(promise_day__range=(first, last)).order_by()
    kept = Q(ready_at__lte=F("promised_at"))
    coming = Q(ready_at__isnull=True, promised_at__gte=now)
    return list(
        tickets.values_list("promise_day").annotate(
            due=Count("pk"), kept=Count("pk", filter=kept), coming=Count("pk", filter=coming)
        )
    )


def racked_in(begins: datetime, ends: datetime) -> list[tuple[datetime, datetime]]:
    """Of each ticket that became fully racked from one moment to another: when, and opened when, in
    UTC without a zone.

    They come in order, as thousands of texts: read by Django they would take longer than the query.
    """
    tickets = Ticket.objects.filter(ready_at__gte=begins, ready_at__lt=ends).order_by("ready_at")
    rows = tickets.values_list(*(Cast(name, TextField()) for name in ("ready_at", "opened_at")))
    return [(_in_utc(ready), _in_utc(opened)) for ready, opened in rows]


def _in_utc(text: str) -> datetime:
    """A moment as both engines write it, of which one leaves the zone out: it is always UTC."""
    return datetime.fromisoformat(text.removesuffix("+00"))


def takings_by_day(first: date, last: date) -> list[tuple[date, Decimal]]:
    """Of each day: money received less money given back."""
    payments = Payment.objects.filter(business_day__range=(first, last)).order_by()
    refund = Q(kind=Payment.Kind.REFUND)
    rows = payments.values_list("business_day").annotate(
        taken=Sum("amount", filter=~refund), returned=Sum("amount", filter=refund)
    )
    return [(day, (taken or Decimal(0)) - (back or Decimal(0))) for day, taken, back in rows]


# Now


def counted_in_process() -> list[tuple[str, str, int]]:
    """Station, state, and how many pieces in process stand so."""
    pieces = in_process_pieces().order_by()
    counts = pieces.values("station", "state").annotate(count=Count("pk"))
    return [(row["station"], row["state"], row["count"]) for row in counts]


def pieces_by_promise(keys: Iterable[int]) -> QuerySet[Piece]:
    """The pieces with these keys and their customers, the earliest promise first."""
    pieces = Piece.objects.filter(pk__in=list(keys)).select_related("ticket__customer")
    return pieces.order_by("promised_at", "code")


def in_process_pieces(station: Station | None = None) -> QuerySet[Piece]:
    """Pieces tagged, and not yet racked, collected or gone back: all, or those at one station."""
    pieces = Piece.objects.filter(state__in=IN_PROCESS, ticket__closed_at__isnull=True)
    if station is not None:
        pieces = pieces.filter(station=station)
    return pieces.select_related("ticket__customer").order_by("promised_at", "code")


def unready() -> QuerySet[Ticket]:
    """Tickets that are still being worked on, or on hold."""
    return Ticket.objects.filter(ready_at__isnull=True, closed_at__isnull=True)


def late_tickets(now: datetime) -> QuerySet[Ticket]:
    """Tickets not fully racked whose promise is past, held pieces or not; oldest promise first."""
    return (
        unready()
        .filter(promised_at__lt=now)
        .select_related("customer")
        .order_by("promised_at", "number")
    )


def tickets_by_number(numbers: Iterable[int]) -> dict[int, Ticket]:
    """Tickets with their customers, by number: one query."""
    rows = Ticket.objects.filter(number__in=list(numbers)).select_related("customer")
    return {ticket.number: ticket for ticket in rows}


def open_holds() -> QuerySet[Hold]:
    """Questions without an answer, with who asks, the piece and its customer."""
    return Hold.objects.filter(ended_at__isnull=True).select_related(
        "owner", "piece__ticket__customer"
    )


def unclaimed() -> QuerySet[Ticket]:
    """Ready tickets that wait for their customer, longest first."""
    waiting = Ticket.objects.filter(ready_at__isnull=False, closed_at__isnull=True)
    return waiting.select_related("customer").order_by("ready_at", "number")


def unpaid() -> QuerySet[Ticket]:
    """Tickets whose work is done, racked or collected, with something still to pay."""
    done = owing(Ticket.objects.filter(ready_at__isnull=False))
    return done.select_related("customer").order_by("ready_at", "number")


def unsent_messages() -> int:
    """How many messages to customers wait in the outbox."""
    return due_in(Notice.State.WAITING).count()


def unpaid_sum() -> tuple[int, Decimal]:
    """How many tickets ``unpaid`` has, and what they owe together."""
    sums = unpaid().aggregate(count=Count("pk"), owed=Sum("owed_minor"))
    return sums["count"], of_hundredths(sums["owed"] or 0)
