"""The margin of this shop: what its finished tickets would have been told, and what came of it.

Past queues are rebuilt from the steps: what was open when a ticket came in, with today's crew,
machines and opening hours. So no forecast has to be kept, a promise that staff moved by hand does
not spoil the lesson, and a change of crew is seen with the whole history at once. Who was away on
the day that a ticket came in was known then, and counts; who was away later was not. Machines are
left out of the look back: where they hold work up, that counts as a miss and widens the margin. A
ticket that is still open though it was expected counts with the time it is over already.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from tickets.promise import queries
from tickets.promise.capacity import Capacity
from tickets.promise.margin import ENOUGH, REMEMBERED, Margin, Miss, learn
from tickets.promise.past import Past, by_opening, misses
from tickets.shop.calendar import business_day, start_of
from tickets.shop.queries import read_calendar


def look_back(now: datetime) -> Margin:
    """The margin from tickets that were ready before today, seconds of work in a busy shop.

    Rush tickets and tickets with a hold teach nothing: they waited for something else.
    """
    today = start_of(business_day(now))
    past = queries.ready_before(today, REMEMBERED)
    if len(past) < ENOUGH:
        return Margin()
    lessons = dict(_lessons([*past, *queries.still_open(today)]))
    return learn(lessons[row] for row in sorted(lessons, key=by_opening))


def _lessons(rows: list[Past]) -> Iterator[tuple[Past, Miss]]:
    first = min(row.opened_at for row in rows)
    capacity = queries.shop_capacity(since=business_day(first))
    people = Capacity(capacity.people, spells=capacity.spells)
    yield from misses(rows, queries.steps_since(first), read_calendar(), people)
