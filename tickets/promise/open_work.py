"""The open work of this shop as last read, and what is expected of it: kept until that changes.

Every page, board and promise of a process shares it. After a move only the pieces of the moved
tickets are read again; and what is expected of a ticket is reckoned when somebody asks for it.
Each process keeps its own: what is written by another one shows in the newest moves.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cached_property

from tickets.promise import queries
from tickets.promise.capacity import Capacity
from tickets.promise.changes import Newest, keys_since
from tickets.promise.expected import Outlook
from tickets.promise.margin import Margin
from tickets.promise.queue import OpenPiece, Turn, turns
from tickets.shop import minutes as workloads
from tickets.shop.calendar import ShopCalendar
from tickets.shop.queries import read_calendar

FRESH = timedelta(minutes=5)
"""How long what was read stands while nothing changes; begins anew at each full five minutes, so
that a promise at the full or half hour is never late unseen."""

_KnownTurns = dict[int, tuple[OpenPiece, list[Turn]]]


@dataclass(frozen=True, eq=False)
class OpenWork:
    """Open pieces by ticket and position, with the shop and its learned margin as they stood at
    ``now``. Pieces whose work did not change between two readings keep their turns. Each reading is
    itself and no other, so what is made of it can be kept by it."""

    now: datetime
    newest: Newest
    pieces: tuple[OpenPiece, ...]
    calendar: ShopCalendar
    capacity: Capacity
    margin: Margin
    known_turns: _KnownTurns = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def outlook(self) -> Outlook:
        """What is expected of every open ticket; raises ``Refused`` in a shop that never opens."""
        return Outlook(
            self.now,
            self.pieces,
            self.calendar,
            self.capacity,
            workloads.round_minutes(),
            self.turns,
        )

    @cached_property
    def by_key(self) -> dict[int, OpenPiece]:
        return {piece.pk: piece for piece in self.pieces}

    def turns(self, piece: OpenPiece) -> list[Turn]:
        """The turn of each of the piece's tasks."""
        known = self.known_turns.get(piece.pk)
        if known is None or not _same_work(known[0], piece):
            known = self.known_turns[piece.pk] = piece, turns(piece, self.calendar)
        return known[1]

    @property
    def mark(self) -> str:
        """A short word that is another one once the work, a setting or the five minutes are."""
        return work_mark(self.newest, self.now)


def _same_work(before: OpenPiece, after: OpenPiece) -> bool:
    """A piece that was not read again keeps the very tuple of its steps; empty ones are all one."""
    return before.steps is after.steps and before.state == after.state


def work_mark(newest: Newest, now: datetime) -> str:
    return f"{newest.mark}{_five_minutes(now):x}"


def _five_minutes(at: datetime) -> int:
    return int(at.timestamp() // FRESH.total_seconds())


def _whole(now: datetime, newest: Newest) -> OpenWork:
    pieces = tuple(queries.open_pieces(now))
    capacity, margin = queries.shop_capacity(now), queries.learned_margin()
    return OpenWork(now, newest, pieces, read_calendar(), capacity, margin)


def _renewed(work: OpenWork, now: datetime, newest: Newest) -> OpenWork:
    """What changed since is read again; what waits by the clock alone has waited on."""
    moved = keys_since(newest.moves, work.newest.moves)
    loads = keys_since(newest.events, work.newest.events)
    if moved is None or loads is None:
        return _whole(now, newest)
    changed = moved | queries.pieces_of_loads(loads) if loads else moved
    pieces = [
        piece if piece.goes_on >= now else replace(piece, goes_on=now) for piece in work.pieces
    ]
    if changed:
        numbers = queries.ticket_numbers(changed)
        pieces = [piece for piece in pieces if piece.ticket.number not in numbers]
        pieces += queries.open_pieces(now, changed)
        pieces.sort(key=lambda piece: piece.code)
    calendar = work.calendar if newest.settings == work.newest.settings else read_calendar()
    known: _KnownTurns = {}
    if calendar == work.calendar:
        keys = {piece.pk for piece in pieces}
        entries = dict(work.known_turns)  # others may be adding to it
        known = {key: entry for key, entry in entries.items() if key in keys}
    capacity, margin = queries.shop_capacity(now), queries.learned_margin()
    return OpenWork(now, newest, tuple(pieces), calendar, capacity, margin, known)


class _Kept:
    """The work last read in this process. Whoever needs it while it is being read waits for it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.work: OpenWork | None = None

    def at(self, now: datetime) -> OpenWork:
        with self._lock:
            newest = queries.newest_changes()  # before all that it stands for
            work = self.work
            if work is None or now < work.now - FRESH:
                work = _whole(now, newest)
            elif work.newest != newest or _five_minutes(work.now) != _five_minutes(now):
                work = _renewed(work, max(now, work.now), newest)
            self.work = work
            return work

    def forget(self) -> None:
        with self._lock:
            self.work = None


_kept = _Kept()


def open_work(now: datetime) -> OpenWork:
    """The open work: one query where nothing changed, and as many more as for one ticket where
    something did, whatever waits."""
    return _kept.at(now)


def last_read() -> OpenWork | None:
    """The open work as this process read it last, which may be out of date; no query."""
    return _kept.work


def forget_open_work() -> None:
    """Read all anew the next time: for who writes rows past every door, as tests do."""
    _kept.forget()


def current_mark(now: datetime) -> str:
    """The mark that ``open_work`` would have now, without reading it: one query."""
    return work_mark(queries.newest_changes(), now)
