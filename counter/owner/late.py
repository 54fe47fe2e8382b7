"""The late list: when each ticket can be expected, what holds it up, and what would rescue it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from counter.owner import wording as words
from counter.owner.figure_rows import FigureList, FigureRow, of_ticket
from counter.owner.queries import late_tickets, tickets_by_number
from tickets.errors import Refused
from tickets.models import Customer
from tickets.promise.expected import Case, Expected, Outlook
from tickets.promise.open_work import open_work
from tickets.promise.rescue import WayKind, WayOut, rescue
from tickets.promise.wording import answer, late_for_it
from tickets.wording import promise_words


@dataclass(frozen=True)
class LateHelp:
    """A few words, what comes of it, and where it is done: ``page`` and ``key`` name the address,
    a key of none the page alone; without a page it is done by telephone."""

    says: str
    then: str = ""
    late: str = ""
    page: str = ""
    key: int | str = ""


_DONE_AT = {WayKind.PERSON: "crew_days", WayKind.EVENING: "shop_hours"}
"""Where a way out is taken that is not one of the ticket's own page."""


@dataclass(frozen=True)
class LateTicket:
    """One ticket of the list in words. The ways out are tried when they are asked for, so that a
    long list costs no more than the rows it shows."""

    expected: Expected
    outlook: Outlook
    customer: Customer

    @property
    def now(self) -> datetime:
        return self.outlook.now

    @property
    def is_past(self) -> bool:
        return self.expected.ticket.promised_at < self.now

    @property
    def promised(self) -> str:
        return promise_words(self.expected.ticket.promised_at, self.now)

    @property
    def ready(self) -> str:
        """When it is expected; with a hold, from an answer that comes now."""
        return promise_words(self.expected.at, self.now)

    @property
    def after(self) -> str:
        return words.after_words(self.expected)

    @property
    def case(self) -> Case:
        return self.outlook.cases[self.expected.ticket.number]

    @property
    def stands_at(self) -> str:
        return words.stands_at_words(self.case.pieces)

    @property
    def waits_for(self) -> str:
        return words.waits_for_words(self.expected, self.stands_at, self.now)

    @property
    def helps(self) -> list[LateHelp]:
        """What brings it back, a question that is open first; else to call, and what to say."""
        outcome = rescue(self.outlook, self.expected)
        helps = [self._help(way) for way in outcome.ways]
        enough = any(way.kind is WayKind.ANSWER for way in outcome.ways)
        if outcome.held and not enough:
            helps.insert(0, replace(self._own_page, says=answer()))
        if not outcome.ways:
            then = words.soonest_words(outcome.soonest, self.now)
            helps.append(LateHelp(words.call_words(), then))
        return helps

    def _help(self, way: WayOut) -> LateHelp:
        then, late = words.then_words(way.at, self.now), late_for_it(way.late)
        if page := _DONE_AT.get(way.kind):
            return LateHelp(way.says, then, late, page)
        return replace(self._own_page, says=way.says, then=then, late=late)

    @property
    def _own_page(self) -> LateHelp:
        """Where its question is answered, or its pieces are found."""
        held = [piece for piece in self.case.pieces if piece.hold == self.expected.hold]
        if self.expected.hold is not None:
            return LateHelp("", page="tickets:piece", key=held[0].code)
        return LateHelp("", page="tickets:ticket", key=self.expected.ticket.number)


@dataclass(frozen=True)
class LateRow(FigureRow):
    """A ticket of the late list, with what can be said and tried for it."""

    late: LateTicket | None = None


def late_list(
    title: str, formula: str, now: datetime, which: Callable[[Outlook], list[Expected]]
) -> FigureList:
    """The tickets that ``which`` picks, with their expected time, oldest promise first.

    A shop that has no open day to come is told so in place of the times.
    """
    try:
        outlook = open_work(now).outlook
    except Refused as no:
        past = late_tickets(now) if which is Outlook.late else ()
        return FigureList(
            title, f"{formula} {no}", [of_ticket(late_ticket, str(no)) for late_ticket in past]
        )
    expected = which(outlook)
    tickets = tickets_by_number(late_ticket.ticket.number for late_ticket in expected)
    rows: list[FigureRow] = []
    for late_ticket in expected:
        ticket = tickets[late_ticket.ticket.number]
        note = words.promised_note(ticket)
        late = LateTicket(late_ticket, outlook, ticket.customer)
        row = of_ticket(ticket, note)
        rows.append(LateRow(row.who, note=note, ticket=row.ticket, spoken=row.spoken, late=late))
    return FigureList(title, f"{formula} {words.expected_how()}", rows)
