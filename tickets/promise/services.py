"""The margin is learned here, aside from all requests: at the start of a server and at night.

It costs seconds of processor in a shop with a long history, so it is learned once for all
processes, stored, and read by every promise. Until then the cautious default counts.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from tickets.models import LearnedMargin
from tickets.promise import history, queries
from tickets.promise.margin import Margin, MarginLine
from tickets.writing import atomic_write

GIVEN_UP = timedelta(minutes=30)
"""After this long a learning that nobody finished is begun again."""


def learn_margin(now: datetime) -> Margin | None:
    """Learn from the past where that is due, and store it. None where it is not due, or where
    another process is at it."""
    basis = queries.learning_basis(now)
    with atomic_write():
        LearnedMargin.objects.get_or_create(pk=1)
        if not queries.margin_to_learn(basis, now - GIVEN_UP).update(begun_at=now):
            return None
    margin = history.look_back(now)
    with atomic_write():
        LearnedMargin.objects.filter(pk=1, begun_at=now).update(
            basis=basis,
            begun_at=None,
            learned_at=now,
            lines={way: _stored(line) for way, line in margin.lines.items()},
            tickets=margin.tickets,
        )
    return margin


def _stored(line: MarginLine) -> list[float | None]:
    return [line.fixed, line.share, None if math.isinf(line.usual) else line.usual]
