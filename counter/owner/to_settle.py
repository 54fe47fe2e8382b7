"""What only the owner can settle, the gravest first: a line each, with where it is settled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from counter.owner.wording import findings as words
from tickets.models import Hold, Ticket
from tickets.promise.expected import Expected

_MOST_LATE, _MOST_AT_RISK = 4, 3


@dataclass(frozen=True)
class ToSettle:
    """``look`` and ``drawn`` as the tag ``state`` takes them; ``page`` and ``key`` name the address
    (a key of none: the page alone). ``owed`` stands where a line is about money."""

    look: str
    drawn: str
    name: str
    why: str
    far: str
    page: str
    key: int | str = ""
    owed: Decimal | None = None


def to_settle(
    late: Sequence[Ticket],
    at_risk: Sequence[Ticket],
    holds: Sequence[Hold],
    holds_due: int,
    unpaid: tuple[int, Decimal],
    unsent: int,
    expected: Mapping[int, Expected],
    now: datetime,
) -> list[ToSettle]:
    """``expected`` by number of ticket; ``unpaid`` how many tickets owe, and how much."""
    lines = [
        _of_ticket(ticket, "late", "bang", words.late_by(now - ticket.promised_at), expected)
        for ticket in late[:_MOST_LATE]
    ]
    if (more := len(late) - _MOST_LATE) > 0:
        lines.append(
            ToSettle("late", "bang", words.more_late(more), "", "", "owner_figure", "late")
        )
    lines += [
        _of_ticket(ticket, "risk", "clock", words.due_words(ticket.promised_at, now), expected)
        for ticket in at_risk[:_MOST_AT_RISK]
    ]
    if (more := len(at_risk) - _MOST_AT_RISK) > 0:
        name = words.more_at_risk(more)
        lines.append(ToSettle("risk", "clock", name, "", "", "owner_figure", "at-risk"))
    if holds:
        name, why = words.holds_words(len(holds)), words.first_question(holds[0])
        far = words.to_ask(holds_due)
        lines.append(ToSettle("held", "pause", name, why, far, "owner_figure", "holds"))
    if unpaid[0]:
        name, why = words.tickets_words(unpaid[0]), words.not_paid()
        lines.append(ToSettle("", "dot", name, why, "", "owner_figure", "unpaid", unpaid[1]))
    if unsent:
        name, why = words.messages_words(unsent), words.not_sent()
        lines.append(ToSettle("", "dot", name, why, "", "messages_out"))
    return lines


def _of_ticket(
    ticket: Ticket, look: str, drawn: str, far: str, expected: Mapping[int, Expected]
) -> ToSettle:
    why = words.hindrance(expected.get(ticket.number))
    return ToSettle(look, drawn, ticket.customer.name, why, far, "tickets:ticket", ticket.number)
