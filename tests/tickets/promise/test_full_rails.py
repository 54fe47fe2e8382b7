"""Whatever hangs there already and whoever is away: no rail ever holds more than its places."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from tests.examples import examples
from tests.tickets.plan.played_days import blocks_of, faults
from tests.tickets.plan.test_dayplan_never import days
from tickets.choices import Station
from tickets.plan.play import play
from tickets.plan.values import WORK, Day, Job, Part, StandingLoad

STATIONS = (Station.BENCH, Station.WASH, Station.PRESS, Station.DRY, Station.ASSEMBLY)


def hung(part: Part) -> Part:
    hangs = part.station == Station.DRY and part.run is None and part.waits
    return replace(part, place="rail") if hangs else part


@examples(80)
@given(
    days(),
    st.integers(1, 3),
    st.lists(st.integers(-100, 40_000), max_size=5),
    st.lists(st.sampled_from(STATIONS), max_size=3),
)
def test_no_rail_is_overfull_and_nobody_works_where_nobody_is(
    drawn: tuple[Day, list[Job], list[StandingLoad]],
    places: int,
    dry_at: list[int],
    away: list[Station],
) -> None:
    day, drawn_jobs, standing = drawn
    jobs = [replace(job, parts=tuple(map(hung, job.parts))) for job in drawn_jobs]
    people: dict[str, float] = {**day.people, **dict.fromkeys(away, 0.0)}
    day = replace(day, places={"rail": places}, drying={"rail": dry_at}, people=people)
    played = play(day, jobs, standing)
    assert faults(day, jobs, played) == []
    parts = {(job.code, order): part for job in jobs for part in job.parts for order in part.orders}
    hangs = [
        (block.start, block.end + parts[block.steps[0]].waits)
        for block in blocks_of(played, WORK)
        if block.steps and parts[block.steps[0]].place
    ]
    for at, _until in hangs:
        there = sum(begins <= at < ends for begins, ends in hangs) + sum(dry > at for dry in dry_at)
        assert there <= places
    assert not [b for b in played.blocks if b.lane.station in away and not b.lane.machine]
