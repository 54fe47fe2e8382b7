"""Facts of a day to play forward, and a check of what was played that knows nothing of how."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from tickets.choices import Station
from tickets.loads.items import LoadItem
from tickets.loads.together import why_not_run
from tickets.plan.values import FILL, MATCH, MINUTE, RUN, WORK, Block, Day, Job, Part, Played
from tickets.shop.machine_facts import MachineFacts, dryer_programmes, usual_programmes

Machines = Mapping[str, tuple[MachineFacts, ...]]
HOUR = 60 * MINUTE
WASHER = MachineFacts("Washer 1", "washer", 70.0, usual_programmes())
SECOND = MachineFacts("Washer 2", "washer", 40.0, usual_programmes())
DRYER = MachineFacts("Dryer 1", "dryer", 160.0, dryer_programmes())
TEN_HOURS = ((0, 10 * HOUR),)
WITH_BREAK = ((0, 4 * HOUR), (5 * HOUR, 10 * HOUR))
MACHINES: Machines = {Station.WASH: (WASHER, SECOND), Station.DRY: (DRYER,)}


def hand(station: str, order: int, minutes: float, waits: float = 0) -> Part:
    return Part(
        station, (order,), (f"step {order}",), round(minutes * MINUTE), round(waits * MINUTE)
    )


def in_machine(code: str, station: str, order: int, out_by: float = 600, **more: object) -> Part:
    stage = "dry" if station == Station.DRY else "wash"
    piece = LoadItem(code, 0, 400, stage=stage, tumble=0, **more)  # type: ignore[arg-type]
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
    latest, timed = round(due * MINUTE), list[Part]()
    for part in reversed(parts):
        latest -= part.crew + part.waits
        timed.insert(0, replace(part, begin_by=latest))
    return Job(code, due=round(due * MINUTE), parts=tuple(timed), **fields)  # type: ignore[arg-type]


def blocks_of(played: Played, kind: str) -> list[Block]:
    return [block for block in played.blocks if block.kind == kind]


# What must never happen


def faults(day: Day, jobs: Sequence[Job], played: Played) -> list[str]:
    """Every way in which a played day is impossible or loses count, found from its blocks."""
    lines = []
    lanes = defaultdict(list)
    for block in played.blocks:
        lanes[block.lane].append(block)
        planned = not (block.load and block.start < 0)
        if planned and not (0 <= block.start <= block.end <= day.closes):
            lines.append(f"{block} is outside opening hours")
        if block.kind in (WORK, FILL, MATCH) and not _in_working_time(day, block):
            lines.append(f"{block} works in a break")
    for lane, every in lanes.items():
        every.sort(key=lambda block: block.start)
        for before, after in pairwise(every):
            turn = next((m.turnaround for m in day.machines.get(lane.station, ())
                         if m.key == lane.machine), 0)  # fmt: skip
            gap = turn * MINUTE if before.kind == RUN else 0
            if after.start < before.end + gap:
                lines.append(f"{lane}: {before} and {after} overlap")
    lines += _order_faults(jobs, played)
    lines += _load_faults(day, jobs, played)
    expected = Counter((j.code, order) for j in jobs for part in j.parts for order in part.orders)
    placed = Counter(step for block in played.blocks for step in block.steps)
    left = Counter(
        (left_over.code, order) for left_over in played.left for order in left_over.orders
    )
    if placed + left != expected:
        lines.append(f"steps counted {placed + left} of {expected}")
    matched = {block.ticket for block in blocks_of(played, MATCH)}
    not_through = {left_over.code for left_over in played.left}
    for left_over in jobs:
        if (left_over.ticket in matched) == (left_over.code in not_through):
            lines.append(f"{left_over.code} is both matched and left, or neither")
    return lines


def _in_working_time(day: Day, block: Block) -> bool:
    """A person begins and ends at work; a break within is no work of theirs."""
    begins = any(start <= block.start < end for start, end in day.spans)
    ends = any(start < block.end <= end for start, end in day.spans)
    return begins and ends


def _order_faults(jobs: Sequence[Job], played: Played) -> list[str]:
    """Steps of a piece in their order, each after what the one before it has to wait for."""
    lines = []
    at = {step: block for block in played.blocks for step in block.steps}
    for job in jobs:
        ready = job.start
        for part in job.parts:
            block = at.get((job.code, part.orders[0]))
            if block is None:
                break
            inside = job.inside and part is job.parts[0]
            if block.start < ready and not inside:
                lines.append(f"{job.code}: {part.orders} begins before it can")
            ready = block.end + part.waits
        for block in blocks_of(played, MATCH):
            if job.code in block.codes and block.start < ready:
                lines.append(f"{job.code} is matched before it is there")
    return lines


def _load_faults(day: Day, jobs: Sequence[Job], played: Played) -> list[str]:
    """Loads of good company that fit, each filled by a person before it runs."""
    lines = []
    pieces = {(j.code, part.orders[0]): part.run for j in jobs for part in j.parts if part.run}
    machines = {m.key: m for every in day.machines.values() for m in every}
    fills = blocks_of(played, FILL)
    for block in blocks_of(played, RUN):
        if block.load:
            continue
        inside = [run for step in block.steps if (run := pieces.get(step)) is not None]
        if len(inside) != len(block.codes):
            lines.append(f"{block}: not a load of whole pieces")
        if why := why_not_run(inside, machines[block.lane.machine]):
            lines.append(why)
        mine = [f for f in fills if f.codes == block.codes and f.machine == block.lane.machine]
        if not any(fill.end <= block.start for fill in mine):
            lines.append(f"{block} runs before it is filled")
    return lines
