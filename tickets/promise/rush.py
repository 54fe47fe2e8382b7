"""What a rush ticket costs the others: whose promise would no longer hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from tickets.promise.capacity import Capacity, Hours
from tickets.promise.engine import forecast, station_minutes
from tickets.promise.queue import Queue, Waiting
from tickets.promise.tasks import Task


def made_late(
    rush: Sequence[Sequence[Task]],
    waiting: Iterable[Waiting],
    now: datetime,
    hours: Hours,
    capacity: Capacity,
) -> list[int]:
    """Tickets expected by their promise as things stand, and after it once the rush goes first.

    Expected times are the bare forward pass over all work due by a ticket's promise, its own
    included, without rounds and margin: what is named here has no room left at all.
    """
    pieces: dict[int, list[Waiting]] = defaultdict(list)
    for each in waiting:
        pieces[each.ticket].append(each)
    queue = Queue((piece for every in pieces.values() for piece in every), capacity)
    extra = station_minutes(rush, capacity)

    def holds(ticket: Sequence[Waiting], added: Mapping[str, float]) -> bool:
        due, own = ticket[0].due, station_minutes([piece.tasks for piece in ticket], capacity)
        ahead = {
            station: max(0.0, minutes - own.get(station, 0.0)) + added.get(station, 0.0)
            for station, minutes in {**dict.fromkeys(added, 0.0), **queue.ahead(due)}.items()
        }
        return forecast([each.tasks for each in ticket], now, hours, capacity, ahead).at <= due

    return [
        number
        for number, ticket in sorted(pieces.items())
        if holds(ticket, {}) and not holds(ticket, extra)
    ]
