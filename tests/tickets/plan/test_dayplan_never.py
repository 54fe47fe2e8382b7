"""The day played forward: what must never happen on any day.

Pure facts, no database: the shop's own rows are in ``test_dayplan_shop``.
"""

from __future__ import annotations

import random

from hypothesis import given
from hypothesis import strategies as st

from tests.examples import examples
from tests.tickets.plan.played_days import (
    HOUR,
    MACHINES,
    SECOND,
    TEN_HOURS,
    WITH_BREAK,
    Machines,
    faults,
    hand,
    in_machine,
    job,
)
from tickets.choices import Station
from tickets.plan.play import lanes_of, play
from tickets.plan.values import MINUTE, WORK, Block, Day, Job, Part, Played, StandingLoad


@st.composite
def days(draw: st.DrawFn) -> tuple[Day, list[Job], list[StandingLoad]]:
    """Any day: people and machines, pieces at any place of their route, an open load."""
    people: dict[str, float] = {
        station: draw(st.sampled_from([0.5, 1.0, 1.5, 2.0, 3.0]))
        for station in (Station.BENCH, Station.WASH, Station.PRESS)
    }
    spans = draw(st.sampled_from([TEN_HOURS, WITH_BREAK, ((0, HOUR),), ((HOUR, 3 * HOUR),)]))
    some: list[Machines] = [MACHINES, {Station.WASH: (SECOND,)}, {}]
    machines = draw(st.sampled_from(some))
    jobs = []
    for number in range(draw(st.integers(0, 14))):
        code = f"{draw(st.integers(10, 14))}-{number:02d}"
        jobs.append(_drawn_job(draw, code, machines))
    standing = []
    inside = [j for j in jobs if j.parts and j.parts[0].run and not j.held and not j.start][:2]
    if inside and machines and draw(st.booleans()):
        stage = inside[0].parts[0].station
        same = [j for j in inside if j.parts[0].station == stage]
        jobs = [j for j in jobs if j not in same]
        same = [Job(j.code, j.ticket, j.rush, j.due, j.parts, inside=7) for j in same]
        jobs += same
        ends = draw(st.sampled_from([None, 20 * MINUTE, 12 * HOUR]))
        over = ends is None and draw(st.booleans())
        codes = tuple(j.code for j in same)
        name = machines[stage][0].key
        begun = 0 if ends is None else -30 * MINUTE
        standing = [StandingLoad(7, stage, name, "x", 50 * MINUTE, codes, begun, ends, over)]
    return Day(spans, people, machines), jobs, standing


def _drawn_job(draw: st.DrawFn, code: str, machines: Machines) -> Job:
    parts: list[Part] = []
    way = draw(
        st.sampled_from(["bench press", "wash dry press", "bench wash hang check", "dry", ""])
    )
    out_by = draw(st.sampled_from([-60, 30, 200, 2000]))
    for order, station in enumerate(way.split(), 1):
        if station in ("wash", "dry") and machines.get(station):
            group = draw(st.sampled_from(["white", "dark"]))
            part = in_machine(code, station, order, out_by, colour_group=group)
            never = draw(st.sampled_from(["", "", "", "Nobody may."]))
            parts.append(Part(**{**part.__dict__, "never": never}))
        elif station == "hang":
            parts.append(hand(Station.DRY, order, 3, draw(st.sampled_from([30, 720]))))
        else:
            parts.append(hand(station, order, draw(st.sampled_from([1, 5, 45, 400]))))
    return job(
        code,
        *parts,
        due=draw(st.integers(-100, 3000)),
        rush=draw(st.booleans()),
        start=draw(st.sampled_from([0, 0, 90 * MINUTE, 20 * HOUR])),
        held=draw(st.sampled_from(["", "", "", "Ask for a button."])),
    )


@examples(150)
@given(days())
def test_no_day_is_impossible_and_none_loses_count(
    shop: tuple[Day, list[Job], list[StandingLoad]],
) -> None:
    day, jobs, standing = shop
    assert faults(day, jobs, play(day, jobs, standing)) == []


@examples(40)
@given(days(), st.randoms(use_true_random=False))
def test_the_same_facts_in_any_order_give_the_same_day(
    shop: tuple[Day, list[Job], list[StandingLoad]], mixed: random.Random
) -> None:
    day, jobs, standing = shop
    first = play(day, jobs, standing)
    mixed.shuffle(jobs)
    assert play(day, jobs, standing) == first


def test_the_check_of_the_days_sees_what_is_wrong() -> None:
    """Each fault once, so that a silent check can't pass for a sound day."""
    day, piece_job = Day(WITH_BREAK), job("10-01", hand("bench", 1, 30), hand("press", 2, 5))
    bench, press = (lane for lane in lanes_of(day) if lane.station in ("bench", "press"))

    def said(*blocks: Block) -> str:
        return " ".join(faults(day, [piece_job], Played((bench, press), blocks)))

    first = Block(bench, WORK, 0, HOUR, ("10-01",), (("10-01", 1),))
    assert "overlap" in said(first, Block(bench, WORK, 10, 20, ("10-01",)))
    assert "outside opening hours" in said(Block(bench, WORK, 9 * HOUR, 11 * HOUR, ("10-01",)))
    assert "works in a break" in said(Block(bench, WORK, 0, 4 * HOUR + 60, ("10-01",)))
    early = Block(press, WORK, 10, 20, ("10-01",), (("10-01", 2),))
    assert "begins before it can" in said(first, early)
    assert "steps counted" in said(first)
