"""What it costs the others to let work go first: whose promise would no longer hold."""

from __future__ import annotations

from collections.abc import Iterable

from tickets.promise.expected import Case, Outlook, WorkAhead
from tickets.promise.queue import entries
from tickets.promise.tasks import Task


def made_late(
    outlook: Outlook, routes: Iterable[Iterable[Task]], besides: Case | None = None
) -> list[int]:
    """Numbers of the tickets that are expected by their promise as things stand, and after it
    once this work goes before theirs at every station.

    The one answer for a new rush ticket and for an open one (``besides``) that is carried first.
    """
    first = WorkAhead()
    first.add_routes(routes)
    late = []
    for number, case in outlook.cases.items():
        due = case.ticket.promised_at
        shared = first.crew.keys() & case.last_turns().keys()
        if case is besides or not shared or outlook.expected(number).at > due:
            continue
        work = outlook.before(case)
        for name in shared:
            work.add(name, first.crew[name], first.machine[name])
        if besides is not None:
            _without(work, case, besides)
        if outlook.ready(case, work.minutes(outlook.capacity)).at > due:
            late.append(number)
    return late


def _without(work: WorkAhead, case: Case, other: Case) -> None:
    """Take out what of the other ticket goes before this one already."""
    last = case.last_turns()
    for piece, piece_turns in other.in_line():
        for name, turn, crew, machine in entries(piece, piece_turns):
            if name in last and turn < last[name]:
                work.add(name, -crew, -machine)
