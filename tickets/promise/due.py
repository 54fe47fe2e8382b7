"""By when each remaining step of a piece must be begun and be over, so that the rest of its way
still fits before the promise.

The way is walked backward from the promise: crew time passes in opening hours, a run or a rail by
the clock, and what goes to a partner must be out for the last pick-up that brings it home in time.
Queues are left out: this hangs on the piece and the opening hours alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from tickets.promise.tasks import Task


class Backward(Protocol):
    """Opening hours and partners' rounds, asked backward in time."""

    def minutes_before(self, at: datetime, minutes: float) -> datetime: ...

    def latest_out(
        self, service: str, before: datetime, in_time: Callable[[datetime], bool]
    ) -> datetime | None: ...


@dataclass(frozen=True)
class Due:
    """``begin``: the latest moment at which a step may begin; ``out``: the latest at which it is
    over, with its run, its rail or its partner's days."""

    begin: datetime
    out: datetime


def dues(tasks: Sequence[Task], promised_at: datetime, hours: Backward) -> list[Due]:
    """Of each of a piece's remaining tasks, in their order. Where no partner brings a piece home
    in time, or nobody takes it in, the planning figure stands for the partner's days."""
    latest, backward = promised_at, []
    for task in reversed(tasks):
        out, gone = latest, None
        if task.partner:
            gone = hours.latest_out(task.partner, out, lambda home, by=out: home <= by)  # type: ignore[misc]
        worked = out - timedelta(minutes=task.waits) if gone is None else gone
        latest = hours.minutes_before(worked, task.crew)
        backward.append(Due(latest, out))
    return backward[::-1]
