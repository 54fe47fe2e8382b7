"""What a played day does not reach, and why: one reason for the first work left of each piece."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace

from tickets.choices import Station
from tickets.plan.values import (
    AWAY,
    HELD,
    MATCH,
    NEVER,
    NO_PLACE,
    NO_TIME,
    NOBODY,
    REST,
    SIBLING,
    Block,
    Job,
    Left,
    Part,
)


def left_of(
    jobs: Iterable[Job],
    place: Mapping[str, int],
    ready: Mapping[str, int],
    blocks: Iterable[Block],
    closes: int,
    full: Collection[str] = (),
    unmanned: Collection[str] = (),
) -> Iterator[Left]:
    """Work left at closing. ``place``: how many parts of each piece are done; ``ready``: from when
    its next one could go on; ``full``: kinds of drying place of which none is free any more;
    ``unmanned``: stations at which nobody works on the day."""
    every = list(jobs)
    matched = {block.ticket for block in blocks if block.kind == MATCH}
    through = {
        job.code
        for job in every
        if place[job.code] >= len(job.parts) and not job.held and ready[job.code] < closes
    }
    not_through = Counter(job.ticket for job in every if job.code not in through)
    for job in every:
        done = place[job.code]
        part = job.parts[done] if done < len(job.parts) else None
        if job.code not in through:
            left = _first(job, part, done, ready[job.code], closes)
            if left.reason == NO_TIME:
                if left.station in unmanned:
                    left = replace(left, reason=NOBODY)
                elif part is not None and part.place in full:
                    left = replace(left, reason=NO_PLACE)
            yield left
            for later in job.parts[done + 1 :]:
                yield Left(job.code, job.ticket, later.station, later.orders, REST)
        elif job.ticket not in matched:
            alone = NOBODY if Station.ASSEMBLY in unmanned else NO_TIME
            reason = SIBLING if not_through[job.ticket] else alone
            yield Left(job.code, job.ticket, Station.ASSEMBLY, (), reason)


def _first(job: Job, part: Part | None, done: int, ready: int, closes: int) -> Left:
    station = part.station if part else Station.ASSEMBLY
    orders = part.orders if part else ()
    if job.held:
        return Left(job.code, job.ticket, station, orders, HELD, job.held)
    if ready >= closes:
        where = job.parts[done - 1].station if done else job.away
        return Left(job.code, job.ticket, station, orders, AWAY, where, until=ready)
    if part is not None and part.never:
        return Left(job.code, job.ticket, station, orders, NEVER, part.never)
    return Left(job.code, job.ticket, station, orders, NO_TIME)
