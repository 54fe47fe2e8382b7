"""A made-up shop played out event by event with SimPy, to judge promises against.

Time is clock minutes from the first Monday, midnight. People and machines work in opening hours
only; rails dry round the clock. What the promise can't know: working times scatter (lognormal),
machines break down, people are absent for whole days, loads wait for company. Planned minutes are
rows of the process table where it has them (``time.*``, common trade practice unless it says
otherwise); arrival, breakdown and absence rates are planning figures of this benchmark, no source.
A ``World`` says in what else a shop departs from what the promise reckons with.
"""

from __future__ import annotations

import bisect
import heapq
import math
import random
from collections import defaultdict
from collections.abc import Callable, Generator
from dataclasses import dataclass, field, replace
from typing import Any

import simpy

from tickets.promise.tasks import Task

WEEK, DAY = 7 * 1440.0, 1440.0
HOURS = [(480.0, 1080.0)] * 5 + [(540.0, 840.0)]
"""Opening and closing by weekday: Monday to Friday 8 to 18, Saturday 9 to 14."""

PEOPLE = {"spotting": 1, "wash": 2, "dry": 1, "press": 2, "bench": 2, "check": 1}
BATCH, CYCLE, TURNAROUND = {"wash": 14, "dry": 14}, {"wash": 50.0, "dry": 45.0}, 10.0
MACHINES = {"wash": 3, "dry": 3}
FILL = 0.75
"""How full runs are planned; the promise counts a piece's share of a machine with it."""

HOLD_FOR = 30.0
"""Minutes for which the most urgent piece of a run that is not full waits for company."""

TICKETS_AN_HOUR = 6.6
"""Loads the shop so that about 180 pieces are in process, some press is always busy, and an
average ticket takes more than a working day: the state in which a promise is hard to make."""

MONDAY, SATURDAY = 1.25, 0.9
PIECES = ((1, 30), (2, 27), (3, 18), (4, 12), (5, 8), (6, 5))

SCATTER = 0.35
"""Standard deviation of the logarithm of a working time; its mean is the planned one."""

ABSENT, COVERED = 0.03, 0.5
"""Chance that a person is away on a day, and that somebody stands in for the whole day. A station
left empty all the same gets one of the washers."""

RUNS_TO_BREAKDOWN, REPAIR = 250.0, 180.0
"""Mean runs between breakdowns of a machine, and median open minutes until it is mended."""

_SHARE = (CYCLE["wash"] + TURNAROUND) / (BATCH["wash"] * FILL)
_DRY_SHARE = (CYCLE["dry"] + TURNAROUND) / (BATCH["dry"] * FILL)


def _cleaned(press: float, dry: str, spot: bool = False) -> tuple[Task, ...]:
    """A piece that is washed, dried by ``tumble``, ``rail`` or ``flat``, pressed and checked."""
    rail = {"rail": 720.0, "flat": 1440.0}.get(dry, 0.0)
    return (
        *((Task("spotting", 4.0),) if spot else ()),
        Task("wash", 6.0, CYCLE["wash"], _SHARE),
        Task("dry", 3.0, rail or CYCLE["dry"], 0.0 if rail else _DRY_SHARE),
        Task("press", press),
        Task("check", 1.0),
    )


KINDS: tuple[tuple[int, tuple[Task, ...], str], ...] = (
    (24, _cleaned(8.0, "tumble"), "warm"),  # shirts by hand
    (8, _cleaned(8.0, "tumble", spot=True), "warm"),
    (12, _cleaned(5.0, "rail"), "mild"),  # trousers, skirts
    (8, _cleaned(10.0, "rail"), "mild"),  # plain dresses
    (4, _cleaned(25.0, "rail", spot=True), "mild"),  # evening dresses
    (10, _cleaned(3.0, "flat"), "mild"),  # knitwear
    (14, _cleaned(4.0, "tumble"), "warm"),  # sheets, table linen
    (18, (Task("bench", 20.0), Task("press", 5.0), Task("check", 1.0)), ""),  # hems
    (9, (Task("bench", 30.0), Task("press", 5.0), Task("check", 1.0)), ""),  # zips, waists
    (3, (Task("bench", 20.0), *_cleaned(8.0, "rail")), "mild"),  # unpick, clean, close
)
"""Weight in the mix, route, and the programme that washes it."""


SENT_OUT = (8, (Task("send_out", 0.0, partner="clean"), Task("check", 1.0)), "")
"""What a shop with a partner takes in too, in the form of ``KINDS``."""
PARTNER_DAYS = 2
"""Whole days after which a partner means to bring a piece back, at the next opening after that."""


@dataclass(frozen=True)
class World:
    """How a shop departs from what the promise reckons with; none of it: the promise's own world.

    ``redo``: share of checked pieces that are pressed and checked again. ``out_of_turn``: share of
    times that a person takes another piece than the most urgent. ``minutes_off``: work at a station
    takes so much more or less than planned, as the shop's luck has it. ``breakdowns``: times as
    many as usual. ``partner_late``: pieces go to a partner too, who is a day late so often (None:
    nothing is sent out). ``rails``: places for what dries in the air (0: they never run out).
    """

    redo: float = 0.0
    out_of_turn: float = 0.0
    minutes_off: float = 0.0
    breakdowns: float = 1.0
    partner_late: float | None = None
    rails: int = 0

    @property
    def kinds(self) -> tuple[tuple[int, tuple[Task, ...], str], ...]:
        kinds = KINDS if self.partner_late is None else (*KINDS, SENT_OUT)
        if not self.rails:
            return kinds
        return tuple((often, tuple(map(_on_a_rail, route)), name) for often, route, name in kinds)


OWN_WORLD = World()


def _on_a_rail(task: Task) -> Task:
    in_the_air = task.station == "dry" and not task.machine
    return replace(task, place="rail") if in_the_air else task


class Clock:
    """Opening time as one running count, so that sums of open minutes are two look-ups."""

    def __init__(self, weeks: int) -> None:
        self.starts, self.ends, self.counts = [], [], []
        total = 0.0
        for week in range(weeks):
            for day, (opens, closes) in enumerate(HOURS):
                self.starts.append(week * WEEK + day * DAY + opens)
                self.ends.append(week * WEEK + day * DAY + closes)
                self.counts.append(total)
                total += closes - opens

    def open_until(self, at: float) -> float:
        """Open minutes from the beginning until ``at``."""
        day = bisect.bisect_right(self.starts, at) - 1
        if day < 0:
            return 0.0
        return self.counts[day] + min(at, self.ends[day]) - self.starts[day]

    def add(self, at: float, minutes: float) -> float:
        total = self.open_until(at) + minutes
        day = max(0, bisect.bisect_left(self.counts, total) - 1)
        return max(at, self.starts[day] + total - self.counts[day])

    def is_open(self, at: float) -> bool:
        """Whether people work at this moment; the moment of closing counts."""
        day = bisect.bisect_left(self.ends, at)
        return self.starts[day] <= at

    def next_open(self, at: float) -> float:
        """The first moment from ``at`` on at which work can go on; not a closing moment."""
        day = bisect.bisect_right(self.ends, at)
        return max(at, self.starts[day])

    def closing(self, at: float) -> float:
        return self.ends[bisect.bisect_right(self.ends, at)]


@dataclass
class Job:
    """A ticket. ``expected`` and ``path`` are the rule's own notes for learning."""

    number: int
    came: float
    routes: list[tuple[Task, ...]]
    programmes: list[str]
    due: float = math.inf
    expected: float = 0.0
    path: float = 0.0
    left: int = 0
    ready: float = 0.0
    todo: dict[int, tuple[Task, ...]] = field(default_factory=dict)


@dataclass(order=True)
class Part:
    """A piece at a station. ``due`` sorts it there: its ticket's promise, and at the machines the
    moment by which it must go in, as the load planner has it."""

    due: float
    number: int
    place: int
    job: Job = field(compare=False)
    programme: str = field(compare=False)
    tasks: tuple[Task, ...] = field(compare=False)
    came: float = field(compare=False, default=0.0)


class Shop:
    """One shop for some weeks. ``promise(shop, job)`` sets a job's due time when it comes in."""

    def __init__(
        self,
        seed: int,
        weeks: int,
        promise: Callable[[Shop, Job], None],
        rate: float = TICKETS_AN_HOUR,
        world: World = OWN_WORLD,
    ) -> None:
        self.world = world
        self.env, self.clock = simpy.Environment(), Clock(weeks + 8)
        self.weeks, self.promise, self.rate = weeks, promise, rate
        self.seed = seed
        self.heaps: dict[str, list[Part]] = {station: [] for station in PEOPLE}
        self.drums: dict[str, list[Part]] = {station: [] for station in MACHINES}
        self.woken: dict[str, simpy.Event] = {}
        self.jobs: list[Job] = []
        self.done: list[Job] = []
        self.open: dict[int, Job] = {}
        self.present: dict[str, int] = dict(PEOPLE)
        self.busy: dict[str, float] = defaultdict(float)
        self._times, self._luck = random.Random(f"times {seed}"), random.Random(f"luck {seed}")
        self._departs = random.Random(f"departs {seed}")
        self._pace = {
            station: 1 + self._departs.choice((-1, 1)) * world.minutes_off for station in PEOPLE
        }
        self.rail_frees = [0.0] * world.rails

    def run(self) -> Shop:
        self.env.process(self._customers(random.Random(f"customers {self.seed}")))
        self.env.process(self._absences(random.Random(f"absent {self.seed}")))
        for station, count in PEOPLE.items():
            for person in range(count + (station != "wash")):
                self.env.process(self._person(station, person))
        for station, count in MACHINES.items():
            for _ in range(count):
                self.env.process(self._machine(station))
        self.env.run(until=(self.weeks + 6) * WEEK)
        return self

    # What comes in

    def _customers(self, draw: random.Random) -> Generator[Any, Any, None]:
        end, counts, weights = self.weeks * WEEK, *zip(*PIECES, strict=True)
        while self.env.now < end:
            weekday = int(self.env.now % WEEK // DAY)
            rate = self.rate * {0: MONDAY, 5: SATURDAY}.get(weekday, 1.0)
            at = self.clock.add(self.env.now, draw.expovariate(rate / 60))
            yield self.env.timeout(max(0.0, at - self.env.now))
            mix = self.world.kinds
            kinds = draw.choices(mix, [k[0] for k in mix], k=draw.choices(counts, weights)[0])
            job = Job(len(self.jobs), self.env.now, [k[1] for k in kinds], [k[2] for k in kinds])
            job.left = len(kinds)
            self.promise(self, job)
            self.jobs.append(job)
            self.open[job.number] = job
            for place, (_, tasks, programme) in enumerate(kinds):
                job.todo[place] = tasks
                self._arrive(Part(job.due, job.number, place, job, programme, tasks))

    def _absences(self, draw: random.Random) -> Generator[Any, Any, None]:
        while True:
            gone = ABSENT * (1 - COVERED)
            away = {s: sum(draw.random() < gone for _ in range(n)) for s, n in PEOPLE.items()}
            self.present = {station: n - away[station] for station, n in PEOPLE.items()}
            for station in PEOPLE:
                if self.present[station] <= 0 and self.present["wash"] > 1:
                    self.present[station] += 1
                    self.present["wash"] -= 1
            yield self.env.timeout(DAY)

    # Who works

    def _sleep(self, heap: str, longest: float = math.inf) -> simpy.Event:
        event = self.woken.setdefault(heap, self.env.event())
        if math.isinf(longest):
            return event
        return self.env.any_of([event, self.env.timeout(longest)])

    def _wake(self, heap: str) -> None:
        if heap in self.woken:
            self.woken.pop(heap).succeed()

    def _arrive(self, part: Part) -> None:
        part.came = self.env.now
        station = part.tasks[0].station
        if station == "send_out":
            self.env.process(self._sent_out(part))
            return
        waits = sum(task.waits for task in part.tasks) if station in MACHINES else 0.0
        part.due = part.job.due - waits
        heapq.heappush(self.heaps[station], part)
        self._wake(station)

    def _person(self, station: str, number: int) -> Generator[Any, Any, None]:
        heap = self.heaps[station]
        while True:
            yield from self._until_open()
            if number >= self.present[station]:
                midnight = (self.env.now // DAY + 1) * DAY + 1
                yield self.env.timeout(midnight - self.env.now)
            elif not heap:
                yield self._sleep(station)
            else:
                part = self._taken(heap)
                task = part.tasks[0]
                minutes = task.crew * self._scatter() * self._pace[station]
                self.busy[station] += minutes
                yield self.env.timeout(self.clock.add(self.env.now, minutes) - self.env.now)
                self._worked(part, task)

    def _taken(self, heap: list[Part]) -> Part:
        """The most urgent piece, or whichever lies on top."""
        if self._departs.random() >= self.world.out_of_turn:
            return heapq.heappop(heap)
        part = heap.pop(self._departs.randrange(len(heap)))
        heapq.heapify(heap)
        return part

    def _worked(self, part: Part, task: Task) -> None:
        if task.station == "check" and self._departs.random() < self.world.redo:
            again = [done for done in part.job.routes[part.place] if done.station == "press"]
            part.tasks = (task, *again[:1], task)
        if task.machine:
            part.came = self.env.now
            heapq.heappush(self.drums[task.station], part)
            self._wake(f"{task.station} drum")
        elif task.waits:
            self.env.process(self._on_rail(part, task.waits))
        else:
            self._next(part)

    def _on_rail(self, part: Part, minutes: float) -> Generator[Any, Any, None]:
        minutes *= self._times.uniform(0.7, 1.1)
        if self.rail_frees:
            # Whoever waits longest has the place that falls free first.
            begins = max(self.env.now, heapq.heappop(self.rail_frees))
            heapq.heappush(self.rail_frees, begins + minutes)
            minutes += begins - self.env.now
        yield self.env.timeout(minutes)
        self._next(part)

    def _sent_out(self, part: Part) -> Generator[Any, Any, None]:
        late = self._departs.random() < (self.world.partner_late or 0.0)
        back = partner_back(self.clock, self.env.now, PARTNER_DAYS + late)
        yield self.env.timeout(back - self.env.now)
        self._next(part)

    def _next(self, part: Part) -> None:
        part.tasks = part.tasks[1:]
        part.job.todo[part.place] = part.tasks
        if part.tasks:
            self._arrive(part)
            return
        job = part.job
        del job.todo[part.place]
        job.left -= 1
        if job.left == 0:
            job.ready = self.env.now
            self.done.append(job)
            del self.open[job.number]

    def _machine(self, station: str) -> Generator[Any, Any, None]:
        waiting = self.drums[station]
        while True:
            yield from self._until_open()
            if not waiting:
                yield self._sleep(f"{station} drum")
                continue
            minutes = CYCLE[station] * self._luck.uniform(0.95, 1.1)
            if self.env.now + minutes > self.clock.closing(self.env.now):
                yield self.env.timeout(self.clock.closing(self.env.now) - self.env.now)
                continue
            load = sorted(p for p in waiting if p.programme == waiting[0].programme)
            load = load[: BATCH[station]]
            patience = load[0].came + HOLD_FOR - self.env.now
            if len(load) < BATCH[station] and patience > 1e-6:
                yield self._sleep(f"{station} drum", patience)
                continue
            for part in load:
                waiting.remove(part)
            heapq.heapify(waiting)
            yield self.env.timeout(minutes)
            if self._luck.random() < self.world.breakdowns / RUNS_TO_BREAKDOWN:
                repair = REPAIR * math.exp(self._luck.gauss(0.0, 0.7))
                yield self.env.timeout(self.clock.add(self.env.now, repair) - self.env.now)
            for part in load:
                self._next(part)
            self.busy[f"{station} drum"] += minutes + TURNAROUND
            yield self.env.timeout(TURNAROUND)

    def _until_open(self) -> Generator[Any, Any, None]:
        opens = self.clock.next_open(self.env.now)
        if opens > self.env.now:
            yield self.env.timeout(opens - self.env.now)

    def _scatter(self) -> float:
        return math.exp(self._times.gauss(-SCATTER * SCATTER / 2, SCATTER))


def partner_back(clock: Clock, at: float, days: int = PARTNER_DAYS) -> float:
    """When a partner brings back what is sent at that moment."""
    return clock.next_open(at + days * DAY)
