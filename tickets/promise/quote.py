"""The promise of this shop, for who opens a ticket: when it can honestly be ready, and what that
hangs on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from tickets.promise import wording
from tickets.promise.engine import forecast_promise
from tickets.promise.margin import Margin
from tickets.promise.open_work import OpenWork
from tickets.promise.queue import OpenPiece, Queue, Waiting
from tickets.promise.tasks import ASSEMBLY, Task
from tickets.shop import minutes as workloads
from tickets.shop.calendar import ShopCalendar


@dataclass(frozen=True)
class Promise:
    """``ready_at`` is in UTC; ``hangs_on`` is the station that costs most on the way."""

    ready_at: datetime
    hangs_on: str
    reason: str


@dataclass(frozen=True)
class Backlog:
    """What a promise is made against: the queue with the shop's capacity, and the margin."""

    queue: Queue
    margin: Margin


def backlog_of(work: OpenWork, *, only_rush: bool = False) -> Backlog:
    """All open work of the shop, and the margin that its past tickets have taught. No query.

    ``only_rush`` leaves out what rush work does not wait for: ordinary pieces that need not begin
    yet.
    """
    pieces = [
        piece
        for piece in work.pieces
        if not only_rush or piece.ticket.rush or _begins_now(piece, work)
    ]
    return Backlog(Queue(map(_waiting, pieces), work.capacity), work.margin)


def earliest_ready(
    routes: Iterable[Sequence[Task]],
    now: datetime,
    calendar: ShopCalendar,
    queued: Backlog,
) -> Promise:
    """Earliest honest ready time of a ticket whose pieces have these routes.

    After the day's cut-off it counts from the next working day.
    """
    begins = calendar.counts_from(now)
    quoted = forecast_promise(
        [(*route, ASSEMBLY) for route in routes],
        begins,
        calendar,
        queued.queue,
        queued.margin,
        workloads.round_minutes(),
    )
    reason = wording.promise_reason(quoted.forecast, now, begins)
    return Promise(quoted.at, quoted.forecast.hangs_on, reason)


def _waiting(piece: OpenPiece) -> Waiting:
    """The table takes each ticket when it is whole, so matching stands in no queue."""
    tasks = tuple(step.task for step in piece.steps_left)
    return Waiting(piece.ticket.number, piece.promised_at, tasks)


def _begins_now(piece: OpenPiece, work: OpenWork) -> bool:
    """What is on hold waits for an answer, and so stands in nobody's way."""
    begin = next((begin for begin, *_rest in work.turns(piece)), piece.promised_at)
    return not piece.held and begin <= work.now
