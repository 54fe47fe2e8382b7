"""The day played forward: what must never happen on any day, and days that can be counted by hand.

Pure facts, no database: the shop's own rows are in ``test_dayplan_shop``.
"""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tickets.choices import Station
from tickets.dayplan.facts import (
    AWAY,
    EMPTY,
    FILL,
    HELD,
    MATCH,
    MINUTE,
    NEVER,
    NO_TIME,
    REST,
    RUN,
    SIBLING,
    WORK,
    Block,
    Day,
    Job,
    Part,
    Played,
    Standing,
)
from tickets.dayplan.play import lanes_of, play
from tickets.loads.facts import LoadPiece, Machine, dryer_programmes, usual_programmes
from tickets.loads.together import shares, why_not_run

Machines = Mapping[str, tuple[Machine, ...]]

HOUR = 60 * MINUTE
WASHER = Machine("Washer 1", "washer", 70.0, usual_programmes())
SECOND = Machine("Washer 2", "washer", 40.0, usual_programmes())
DRYER = Machine("Dryer 1", "dryer", 160.0, dryer_programmes())
TEN_HOURS = ((0, 10 * HOUR),)
WITH_BREAK = ((0, 4 * HOUR), (5 * HOUR, 10 * HOUR))
WAYS = ("bench press", "wash dry press", "bench wash hang check", "dry", "")
MACHINES: Machines = {Station.WASH: (WASHER, SECOND), Station.DRY: (DRYER,)}


def hand(station: str, order: int, minutes: float, waits: float = 0) -> Part:
    return Part(
        station, (order,), (f"step {order}",), round(minutes * MINUTE), round(waits * MINUTE)
    )


def in_machine(code: str, station: str, order: int, out_by: float = 600, **more: object) -> Part:
    stage = "dry" if station == Station.DRY else "wash"
    piece = LoadPiece(code, 0, 400, stage=stage, tumble=0, **more)  # type: ignore[arg-type]
    return Part(
        station,
        (order,),
        ("dry" if stage == "dry" else "wash",),
        2 * MINUTE,
        run=piece,
        out_by=round(out_by * MINUTE),
    )


def job(code: str, *parts: Part, due: float = 600, **more: object) -> Job:
    fields = {"ticket": int(code[:2]), "rush": False, **more}
    return Job(code, due=round(due * MINUTE), parts=tuple(parts), **fields)  # type: ignore[arg-type]


def kinds(played: Played) -> Counter[str]:
    return Counter(block.kind for block in played.blocks)


def blocks_of(played: Played, kind: str) -> list[Block]:
    return [block for block in played.blocks if block.kind == kind]


# What must never happen


def faults(day: Day, jobs: Sequence[Job], played: Played) -> list[str]:
    """Every way in which a played day is impossible or loses count, found from its blocks."""
    found = []
    lanes = defaultdict(list)
    for block in played.blocks:
        lanes[block.lane].append(block)
        planned = not (block.load and block.start < 0)
        if planned and not (0 <= block.start <= block.end <= day.closes):
            found.append(f"{block} is outside opening hours")
        if block.kind in (WORK, FILL, MATCH) and not _in_working_time(day, block):
            found.append(f"{block} works in a break")
    for lane, every in lanes.items():
        every.sort(key=lambda block: block.start)
        for one, other in pairwise(every):
            turn = next((m.turnaround for m in day.machines.get(lane.station, ())
                         if m.key == lane.machine), 0)  # fmt: skip
            gap = turn * MINUTE if one.kind == RUN else 0
            if other.start < one.end + gap:
                found.append(f"{lane}: {one} and {other} overlap")
    found += _order_faults(jobs, played)
    found += _load_faults(day, jobs, played)
    expected = Counter((j.code, order) for j in jobs for part in j.parts for order in part.orders)
    placed = Counter(step for block in played.blocks for step in block.steps)
    left = Counter((each.code, order) for each in played.left for order in each.orders)
    if placed + left != expected:
        found.append(f"steps counted {placed + left} of {expected}")
    matched = {block.ticket for block in blocks_of(played, MATCH)}
    not_through = {each.code for each in played.left}
    for each in jobs:
        if (each.ticket in matched) == (each.code in not_through):
            found.append(f"{each.code} is both matched and left, or neither")
    return found


def _in_working_time(day: Day, block: Block) -> bool:
    """A person begins and ends at work; a break within is no work of theirs."""
    begins = any(start <= block.start < end for start, end in day.spans)
    ends = any(start < block.end <= end for start, end in day.spans)
    return begins and ends


def _order_faults(jobs: Sequence[Job], played: Played) -> list[str]:
    """Steps of a piece in their order, each after what the one before it has to wait for."""
    found = []
    at = {step: block for block in played.blocks for step in block.steps}
    for each in jobs:
        ready = each.start
        for part in each.parts:
            block = at.get((each.code, part.orders[0]))
            if block is None:
                break
            inside = each.inside and part is each.parts[0]
            if block.start < ready and not inside:
                found.append(f"{each.code}: {part.orders} begins before it can")
            ready = block.end + part.waits
        for block in blocks_of(played, MATCH):
            if each.code in block.codes and block.start < ready:
                found.append(f"{each.code} is matched before it is there")
    return found


def _load_faults(day: Day, jobs: Sequence[Job], played: Played) -> list[str]:
    """Loads of good company that fit, each filled by a person before it runs."""
    found = []
    pieces = {(j.code, part.orders[0]): part.run for j in jobs for part in j.parts if part.run}
    machines = {m.key: m for every in day.machines.values() for m in every}
    fills = blocks_of(played, FILL)
    for block in blocks_of(played, RUN):
        if block.load:
            continue
        inside = [run for step in block.steps if (run := pieces.get(step)) is not None]
        if len(inside) != len(block.codes):
            found.append(f"{block}: not a load of whole pieces")
        if why := why_not_run(inside, machines[block.lane.machine]):
            found.append(why)
        mine = [f for f in fills if f.codes == block.codes and f.machine == block.lane.machine]
        if not any(fill.end <= block.start for fill in mine):
            found.append(f"{block} runs before it is filled")
    return found


@st.composite
def days(draw: st.DrawFn) -> tuple[Day, list[Job], list[Standing]]:
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
        standing = [Standing(7, stage, name, "x", 50 * MINUTE, codes, begun, ends, over)]
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


@settings(max_examples=150, deadline=None)
@given(days())
def test_no_day_is_impossible_and_none_loses_count(
    shop: tuple[Day, list[Job], list[Standing]],
) -> None:
    day, jobs, standing = shop
    assert faults(day, jobs, play(day, jobs, standing)) == []


@settings(max_examples=40, deadline=None)
@given(days(), st.randoms(use_true_random=False))
def test_the_same_facts_in_any_order_give_the_same_day(
    shop: tuple[Day, list[Job], list[Standing]], mixed: random.Random
) -> None:
    day, jobs, standing = shop
    first = play(day, jobs, standing)
    mixed.shuffle(jobs)
    assert play(day, jobs, standing) == first


def test_the_check_of_the_days_sees_what_is_wrong() -> None:
    """Each fault once, so that a silent check can't pass for a sound day."""
    day, one = Day(WITH_BREAK), job("10-01", hand("bench", 1, 30), hand("press", 2, 5))
    bench, press = (lane for lane in lanes_of(day) if lane.station in ("bench", "press"))

    def said(*blocks: Block) -> str:
        return " ".join(faults(day, [one], Played((bench, press), blocks)))

    first = Block(bench, WORK, 0, HOUR, ("10-01",), (("10-01", 1),))
    assert "overlap" in said(first, Block(bench, WORK, 10, 20, ("10-01",)))
    assert "outside opening hours" in said(Block(bench, WORK, 9 * HOUR, 11 * HOUR, ("10-01",)))
    assert "works in a break" in said(Block(bench, WORK, 0, 4 * HOUR + 60, ("10-01",)))
    early = Block(press, WORK, 10, 20, ("10-01",), (("10-01", 2),))
    assert "begins before it can" in said(first, early)
    assert "steps counted" in said(first)


# Days that can be counted by hand


def test_rush_goes_first_then_the_earliest_promise_then_the_number() -> None:
    waiting = [
        job("10-01", hand("press", 1, 10), due=50),
        job("11-01", hand("press", 1, 10), due=20),
        job("12-01", hand("press", 1, 10), due=90, rush=True),
        job("09-01", hand("press", 1, 10), due=50),
    ]
    played = play(Day(TEN_HOURS), waiting)
    at_press = [(b.codes[0], b.start // MINUTE) for b in blocks_of(played, WORK)]
    assert at_press == [("12-01", 0), ("11-01", 10), ("09-01", 20), ("10-01", 30)]


def test_two_people_at_the_press_work_side_by_side_and_one_and_a_half_a_quarter_slower() -> None:
    waiting = [job(f"1{n}-01", hand("press", 1, 30)) for n in range(4)]

    def ends(people: float) -> list[int]:
        played = play(Day(TEN_HOURS, {"press": people}), waiting)
        return sorted(block.end // MINUTE for block in blocks_of(played, WORK))

    assert ends(2) == [30, 30, 60, 60]
    assert ends(1.5) == [40, 40, 80, 80]
    assert ends(0.5) == [60, 120, 180, 240]


def test_a_piece_is_matched_when_the_last_of_its_ticket_is_through() -> None:
    waiting = [job("10-01", hand("bench", 1, 30)), job("10-02", hand("bench", 1, 20))]
    [match] = blocks_of(play(Day(TEN_HOURS), waiting), MATCH)
    assert (match.codes, match.start, match.end) == (("10-01", "10-02"), 50 * MINUTE, 60 * MINUTE)


def test_whites_and_darks_wait_for_two_runs_and_dry_together() -> None:
    waiting = [
        job(
            f"1{n}-01",
            in_machine(f"1{n}-01", Station.WASH, 1, 0, colour_group=group),
            in_machine(f"1{n}-01", Station.DRY, 2, 0),
        )
        for n, group in enumerate(("white", "dark", "white", "dark"))
    ]
    day = Day(TEN_HOURS, {}, {Station.WASH: (WASHER,), Station.DRY: (DRYER,)})
    played = play(day, waiting)
    assert faults(day, waiting, played) == []
    washes = [b for b in blocks_of(played, RUN) if b.lane.station == Station.WASH]
    assert sorted(b.codes for b in washes) == [("10-01", "12-01"), ("11-01", "13-01")]
    first, second = washes
    # Two pieces of two minutes are filled in four; the drum turns over in its ten.
    assert first.start == 4 * MINUTE
    assert second.start == first.end + 10 * MINUTE
    assert not shares(waiting[0].parts[0].run, waiting[1].parts[0].run)  # type: ignore[arg-type]


def test_a_load_is_filled_so_that_it_is_ready_when_its_machine_is() -> None:
    running = Standing(3, Station.WASH, "Washer 1", "x", 3600, (), -600, ends=30 * MINUTE)
    waiting = [job("10-01", in_machine("10-01", Station.WASH, 1, 0))]
    played = play(Day(TEN_HOURS, {}, {Station.WASH: (WASHER,)}), waiting, [running])
    [fill], run = blocks_of(played, FILL), blocks_of(played, RUN)[-1]
    assert (fill.start, fill.end, run.start) == (38 * MINUTE, 40 * MINUTE, 40 * MINUTE)


def test_a_thin_washer_load_waits_for_what_is_still_to_come_unless_it_presses() -> None:
    def washes(out_by: float) -> list[int]:
        waiting = [
            job("10-01", in_machine("10-01", Station.WASH, 1, out_by)),
            job("11-01", hand("bench", 1, 60), in_machine("11-01", Station.WASH, 2, out_by)),
        ]
        played = play(Day(TEN_HOURS, {}, {Station.WASH: (WASHER,)}), waiting)
        return [len(block.codes) for block in blocks_of(played, RUN)]

    assert washes(2000) == [2]
    assert washes(0) == [1, 1]


def test_wet_cloth_does_not_wait_for_company_at_the_dryer() -> None:
    waiting = [
        job("10-01", in_machine("10-01", Station.DRY, 1, 2000)),
        job("11-01", hand("bench", 1, 60), in_machine("11-01", Station.DRY, 2, 2000)),
    ]
    played = play(Day(TEN_HOURS, {}, {Station.DRY: (DRYER,)}), waiting)
    assert next(block.start for block in blocks_of(played, RUN)) == 2 * MINUTE


def test_the_runs_of_open_loads_keep_their_machines_and_their_pieces() -> None:
    def one(code: str, load: int) -> Job:
        return job(code, in_machine(code, Station.WASH, 1), hand("press", 2, 5), inside=load)

    loads = [
        Standing(1, Station.WASH, "Washer 1", "x", 3600, ("10-01",), -600, ends=30 * MINUTE),
        Standing(2, Station.WASH, "Washer 1", "x", 3600, ("11-01",)),
        Standing(3, Station.WASH, "Washer 2", "x", 3600, ("12-01",), -9000, over=True),
    ]
    waiting = [one("10-01", 1), one("11-01", 2), one("12-01", 3)]
    day = Day(TEN_HOURS, {}, MACHINES)
    played = play(day, waiting, loads)
    assert faults(day, waiting, played) == []
    at = {b.load: (b.kind, b.start // MINUTE, b.end // MINUTE) for b in played.blocks if b.load}
    assert at == {1: (RUN, -10, 30), 2: (RUN, 40, 100), 3: (EMPTY, 0, 10)}
    pressed = {b.codes[0]: b.start // MINUTE for b in blocks_of(played, WORK)}
    assert pressed == {"10-01": 30, "11-01": 100, "12-01": 10}


@pytest.mark.parametrize(
    ("waiting", "reasons"),
    [
        (job("10-01", hand("bench", 1, 5), held="Ask."), [("bench", HELD)]),
        (job("10-01", hand("bench", 1, 5), start=11 * HOUR), [("bench", AWAY)]),
        (job("10-01", hand("bench", 1, 700), hand("press", 2, 5)),
         [("bench", NO_TIME), ("press", REST)]),
        (job("10-01", hand("dry", 1, 3, waits=720), hand("press", 2, 5)), [("press", AWAY)]),
        (job("10-01", Part("wash", (1,), ("wash",), 60, never="Nobody may.")), [("wash", NEVER)]),
        (job("10-01", hand("press", 1, 595)), [("assembly", NO_TIME)]),
    ],
)  # fmt: skip
def test_what_the_day_does_not_reach_says_why(waiting: Job, reasons: list[tuple[str, str]]) -> None:
    left = play(Day(TEN_HOURS), [waiting]).left
    assert [(each.station, each.reason) for each in left] == reasons


def test_a_piece_that_is_through_waits_for_the_rest_of_its_ticket() -> None:
    waiting = [job("10-01", hand("press", 1, 5)), job("10-02", hand("press", 1, 5), held="Ask.")]
    left = {each.code: each.reason for each in play(Day(TEN_HOURS), waiting).left}
    assert left == {"10-01": SIBLING, "10-02": HELD}


def test_work_goes_on_after_the_break_where_it_was_laid_down() -> None:
    played = play(Day(WITH_BREAK), [job("10-01", hand("bench", 1, 300))])
    [work] = blocks_of(played, WORK)
    assert (work.start, work.end) == (0, 6 * HOUR)


def test_a_run_begun_before_the_break_ends_in_it_and_none_is_begun_in_it() -> None:
    day = Day(((0, 30 * MINUTE), (2 * HOUR, 10 * HOUR)), {}, {Station.WASH: (WASHER,)})
    waiting = [
        job("10-01", in_machine("10-01", Station.WASH, 1, 0)),
        job("11-01", in_machine("11-01", Station.WASH, 1, 0, colour_group="dark")),
    ]
    first, second = blocks_of(play(day, waiting), RUN)
    assert first.start == 2 * MINUTE
    assert first.end > 30 * MINUTE
    assert second.start == 2 * HOUR + 2 * MINUTE  # filled when the crew is back
