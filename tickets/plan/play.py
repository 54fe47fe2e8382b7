"""Plays one day forward: every person takes the most urgent work that waits, every machine the
loads that the load planner makes of what waits for it.

Nobody is left idle beside work that can be finished before closing. A load is filled so that it
is ready when its machine is. A washer that is under half full waits for company while nothing in
it presses and more can come; a dryer never does, since wet cloth should not lie. Equal facts in
any order give the same day.
"""

from __future__ import annotations

import bisect
import heapq
import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from tickets.choices import Station
from tickets.loads.items import WASH
from tickets.loads.planner import plan_loads
from tickets.loads.runs import Run
from tickets.loads.together import programme_for, why_not_fit
from tickets.plan.lanes import lanes_of, unmanned
from tickets.plan.left import left_of
from tickets.plan.rails import Rails
from tickets.plan.values import (
    EMPTY,
    FILL,
    MATCH,
    MINUTE,
    RUN,
    WORK,
    Block,
    Day,
    DrumFill,
    Job,
    Lane,
    Part,
    Played,
    Rank,
    StandingLoad,
)
from tickets.shop.machine_facts import MachineFacts

ROUNDS = 60
"""Rounds of the load planner for each look at what waits: it is asked many times in one day."""


def play(day: Day, jobs: Iterable[Job], standing: Iterable[StandingLoad] = ()) -> Played:
    """The day from second 0 to closing."""
    return _Play(day, jobs, standing).played()


class _Play:
    def __init__(self, day: Day, jobs: Iterable[Job], standing: Iterable[StandingLoad]) -> None:
        self.day = day
        self.lanes = lanes_of(day)
        self.jobs = {job.code: job for job in sorted(jobs, key=lambda job: job.rank(0))}
        self.machines = {m.key: m for every in day.machines.values() for m in every}
        self.place = dict.fromkeys(self.jobs, 0)
        self.ready = {code: job.start for code, job in self.jobs.items()}
        self.free = dict.fromkeys(self.lanes, 0)
        self.blocks: list[Block] = []
        #: what waits at each station: for a person, and for a machine
        self.waiting: dict[str, list[tuple[Rank, str]]] = defaultdict(list)
        self.for_machine: dict[str, dict[str, Job]] = defaultdict(dict)
        self.plans: dict[str, list[Run]] = defaultdict(list)
        self.to_come: dict[str, set[str]] = defaultdict(set)
        self.unmatched: dict[int, int] = defaultdict(int)
        self.matches: list[int] = []
        self.arrivals: list[tuple[int, Rank, str]] = []
        self.clock: list[int] = [0]
        self.again = False
        self.standing = sorted(standing, key=lambda load: load.number)
        self.rails = Rails(day.places, day.drying)
        self.looked_at: set[int] = set()

    def played(self) -> Played:
        for job in self.jobs.values():
            self.unmatched[job.ticket] += 1
            if not job.held:
                self._expect(job)
        for load in self.standing:
            self._stand(load)
        for job in self.jobs.values():
            if not job.held and not job.inside:
                self._arrive(job)
        last = -1
        while self.clock:
            now = heapq.heappop(self.clock)
            if now > last and now < self.day.closes:
                last = now
                self._moment(now)
        places = {lane: number for number, lane in enumerate(self.lanes)}
        blocks = sorted(self.blocks, key=lambda b: (places[b.lane], b.start, b.codes))
        closes = self.day.closes
        full = self.rails.full(closes - 1)
        left = tuple(
            left_of(
                self.jobs.values(), self.place, self.ready, blocks, closes, full, unmanned(self.day)
            )
        )
        return Played(tuple(self.lanes), tuple(blocks), left)

    # Pieces come and go

    def _expect(self, job: Job) -> None:
        """Note where the piece will want a machine today, as long as nothing stops it before."""
        for part in job.parts:
            if part.never:
                return
            if part.run is not None:
                self.to_come[part.station].add(job.code)

    def _forget(self, job: Job) -> None:
        for codes in self.to_come.values():
            codes.discard(job.code)
        self.again = True

    def _arrive(self, job: Job) -> None:
        """Send a piece on to its next part, now or when it is there again."""
        if self.ready[job.code] < self.day.closes:
            heapq.heappush(self.arrivals, (self.ready[job.code], self._rank(job), job.code))
            heapq.heappush(self.clock, max(0, self.ready[job.code]))
        else:
            self._forget(job)

    def _admit(self, now: int) -> None:
        while self.arrivals and self.arrivals[0][0] <= now:
            _at, rank, code = heapq.heappop(self.arrivals)
            part = self._part(code)
            if part is None:
                self._through(self.jobs[code])
            elif part.never:
                self._forget(self.jobs[code])
            elif part.run is not None:
                self.to_come[part.station].discard(code)
                self.for_machine[part.station][code] = self.jobs[code]
            else:
                bisect.insort(self.waiting[part.station], (rank, code))

    def _through(self, job: Job) -> None:
        self.unmatched[job.ticket] -= 1
        if not self.unmatched[job.ticket]:
            self.matches.append(job.ticket)

    def _rank(self, job: Job) -> Rank:
        return job.rank(self.place[job.code])

    def _part(self, code: str) -> Part | None:
        parts, place = self.jobs[code].parts, self.place[code]
        return parts[place] if place < len(parts) else None

    def _done(self, job: Job, end: int) -> None:
        """The piece's part ends; what follows without anybody passes from then on."""
        part = self.jobs[job.code].parts[self.place[job.code]]
        back = self.day.back(part.partner, end) if part.partner else None
        self.place[job.code] += 1
        self.ready[job.code] = end + part.waits if back is None else back
        self._arrive(job)

    def _stand(self, load: StandingLoad) -> None:
        """A load that is open already keeps its machine and its pieces."""
        lane = self._lane_of(load)
        jobs = [self.jobs[code] for code in load.codes if code in self.jobs]
        turn = self._turn(lane)
        if load.over:
            start = self.day.begin_at(0)
            end = self.day.end_of(start, turn) or self.day.closes
            kind = EMPTY
        elif load.ends is not None:
            start, end, kind = load.begun, load.ends, RUN
        else:
            start = self.day.begin_at(self.free[lane])
            end, kind = start + load.seconds, RUN
            if end > self.day.closes:
                return
        self._write(lane, kind, start, end, jobs, detail=load.programme, load=load.number)
        self.free[lane] = end if load.over else end + turn
        heapq.heappush(self.clock, self.free[lane])
        for job in jobs:
            self.to_come[load.station].discard(job.code)
            self._done(job, end)

    def _lane_of(self, load: StandingLoad) -> Lane:
        lanes = (lane for lane in self.lanes if lane.machine == load.machine)
        lane = next(lanes, Lane(load.station, 0, load.machine))
        if lane not in self.free:
            self.lanes.append(lane)
            self.free[lane] = 0
        return lane

    def _turn(self, lane: Lane) -> int:
        machine = self.machines.get(lane.machine)
        return machine.turnaround * MINUTE if machine else 0

    # People and machines take work

    def _moment(self, now: int) -> None:
        begin = self.day.begin_at(now)
        if begin > now:
            heapq.heappush(self.clock, begin)
            return
        self.again = True
        while self.again:
            self.again = False
            self._admit(now)
            for lane in self.lanes:
                if not lane.machine and self.free[lane] <= now and self._take(lane, now):
                    self.again = True

    def _take(self, lane: Lane, now: int) -> bool:
        """Give this person the most urgent thing to do; False where there is none."""
        if lane.station == Station.ASSEMBLY:
            return self._match(lane, now)
        work = self._work_for(lane, now)
        fill = self._fill_for(lane, now)
        if fill is not None and (work is None or fill.rank < work[0]):
            self._fill(lane, fill, now)
        elif work is not None:
            rank, code, end = work
            self.waiting[lane.station].remove((rank, code))
            self._work(lane, self.jobs[code], now, end)
        else:
            return False
        return True

    def _work_for(self, lane: Lane, now: int) -> tuple[Rank, str, int] | None:
        for rank, code in self.waiting[lane.station]:
            part = self._part(code)
            assert part is not None  # it waits here for one
            if not self._place_free(part.place, now):
                continue
            end = self.day.end_of(now, math.ceil(part.crew / lane.pace))
            if end is not None:
                return rank, code, end
        return None

    def _place_free(self, kind: str, now: int) -> bool:
        """Whether a drying place is free; where none is, people look again when one will be."""
        free = self.rails.free_at(kind, now)
        if free > now and free not in self.looked_at:
            self.looked_at.add(free)
            heapq.heappush(self.clock, free)
        return free <= now

    def _work(self, lane: Lane, job: Job, now: int, end: int) -> None:
        self._write(lane, WORK, now, end, [job])
        self._busy(lane, end)
        part = self._part(job.code)
        if part is not None:
            self.rails.take(part.place, end + part.waits)
        self._done(job, end)

    def _match(self, lane: Lane, now: int) -> bool:
        def urgency(ticket: int) -> Rank:
            return min(self._rank(job) for job in self.jobs.values() if job.ticket == ticket)

        end = self.day.end_of(now, math.ceil(self.day.matching / lane.pace))
        if not self.matches or end is None:
            return False
        ticket = min(self.matches, key=urgency)
        self.matches.remove(ticket)
        codes = tuple(sorted(j.code for j in self.jobs.values() if j.ticket == ticket))
        self.blocks.append(Block(lane, MATCH, now, end, codes, ticket=ticket))
        self._busy(lane, end)
        return True

    def _fill(self, lane: Lane, fill: DrumFill, now: int) -> None:
        codes = tuple(job.code for job in fill.jobs)
        detail = fill.run.programme.key
        self.blocks.append(
            Block(lane, FILL, now, fill.filled, codes, detail=detail, machine=fill.lane.machine)
        )
        self._write(fill.lane, RUN, fill.start, fill.end, fill.jobs, detail=detail)
        self._busy(lane, fill.filled)
        self.free[fill.lane] = fill.end + self._turn(fill.lane)
        heapq.heappush(self.clock, self.free[fill.lane])
        for job in fill.jobs:
            del self.for_machine[lane.station][job.code]
            self._done(job, fill.end)

    def _fill_for(self, lane: Lane, now: int) -> DrumFill | None:
        """The first load of the planner that this person can begin to fill now."""
        waiting = self.for_machine[lane.station]
        machines = [
            other
            for other in self.lanes
            if other.machine in self.machines and other.station == lane.station
        ]
        if not waiting or not machines:
            return None
        soonest = min(self.free[other] for other in machines)
        most = math.ceil(sum(self._crew(job) for job in waiting.values()) / lane.pace)
        if soonest - most > now:
            heapq.heappush(self.clock, soonest - most)
            return None
        for run in self._planned(lane.station, now):
            jobs = tuple(waiting[piece.code] for piece in run.pieces)
            if (fill := self._may_fill(lane, run, jobs, machines, now)) is not None:
                return fill
        return None

    def _may_fill(
        self, lane: Lane, run: Run, jobs: tuple[Job, ...], machines: Sequence[Lane], now: int
    ) -> DrumFill | None:
        into = self._machine_for(run, machines)
        seconds = run.programme.minutes * MINUTE
        filling = math.ceil(sum(map(self._crew, jobs)) / lane.pace)
        filled = self.day.end_of(now, filling)
        if self.free[into] - filling > now:
            heapq.heappush(self.clock, self.free[into] - filling)
            return None
        if filled is None:
            return None
        start = self.day.begin_at(max(filled, self.free[into]))
        end = start + seconds
        if end > self.day.closes:
            return None
        if self._waits_for_company(run, jobs, seconds + filling, now):
            return None
        rank = min(map(self._rank, jobs))
        return DrumFill(rank, run, into, jobs, filled, start, end)

    def _waits_for_company(self, run: Run, jobs: Sequence[Job], takes: int, now: int) -> bool:
        """Whether a thin washer load is better begun later: more may come, and nothing presses."""
        if not run.may_wait or not self.to_come[Station.WASH] or run.pieces[0].stage != WASH:
            return False
        parts = [self._part(job.code) for job in jobs]
        presses = min(part.out_by for part in parts if part) - takes
        latest = min(presses, self.day.closes - takes)
        if latest > now:
            heapq.heappush(self.clock, latest)
        return latest > now

    def _machine_for(self, run: Run, machines: Sequence[Lane]) -> Lane:
        """The machine that can begin the load first, with the programme the planner chose."""

        def fits(machine: MachineFacts) -> bool:
            if machine == run.machine or machine.key == run.machine.key:
                return True
            same = programme_for(run.pieces, machine) == run.programme
            return same and not why_not_fit(run.pieces, machine)

        able = [lane for lane in machines if fits(self.machines[lane.machine])]
        return min(able, key=lambda m: (self.free[m], m.machine != run.machine.key, m.machine))

    def _planned(self, station: str, now: int) -> list[Run]:
        """Loads of what waits there; planned anew when a piece has come."""
        waiting = self.for_machine[station]
        runs = [run for run in self.plans[station] if all(p.code in waiting for p in run.pieces)]
        if sum(len(run.pieces) for run in runs) < len(waiting):
            pieces = []
            for job in waiting.values():
                part = self._part(job.code)
                if part is not None and part.run is not None:
                    pieces.append(replace(part.run, due=(part.out_by - now) // MINUTE))
            machines = [
                replace(m, free_from=max(0, -(-(self._free_of(m) - now) // MINUTE)))
                for m in self.day.machines[station]
            ]
            runs = list(plan_loads(pieces, machines, ROUNDS).runs)
        self.plans[station] = runs
        return runs

    def _free_of(self, machine: MachineFacts) -> int:
        return next(at for lane, at in self.free.items() if lane.machine == machine.key)

    def _crew(self, job: Job) -> int:
        part = self._part(job.code)
        return part.crew if part else 0

    def _busy(self, lane: Lane, until: int) -> None:
        self.free[lane] = until
        heapq.heappush(self.clock, until)

    def _write(
        self,
        lane: Lane,
        kind: str,
        start: int,
        end: int,
        jobs: Sequence[Job],
        detail: str = "",
        load: int = 0,
    ) -> None:
        parts = [(job.code, self._part(job.code)) for job in jobs]
        steps = tuple((code, order) for code, part in parts if part for order in part.orders)
        names = tuple(dict.fromkeys(name for _code, part in parts if part for name in part.names))
        codes = tuple(job.code for job in jobs)
        self.blocks.append(Block(lane, kind, start, end, codes, steps, names, detail, "", load))


__all__ = ["lanes_of", "play"]
