"""The search behind the planner: build greedily, then tear down a part and build it again.

Deterministic: a fixed seed and a fixed number of rounds, never a clock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from tickets.loads.building import Builder
from tickets.loads.drums import NEVER, Drum, Lines, first_bit
from tickets.loads.plans import LATE_MINUTE, RUN
from tickets.loads.tables import Tables, components, fewest_runs

FULL_BONUS = RUN * 2
"""Bonus of a run that fills the widest drum."""

HEAT = 0.4
"""How much worse than the last plan a new one may be at first, in runs; it cools to nothing."""

WIDE = 0.1
"""Chance that a round empties all runs that could share their pieces, up to nine."""

FOCUS = 0.5
"""Chance that a round starts at a run that could be saved or is late."""

PATIENCE, FIT_PATIENCE = 1000, 60
"""Rounds without gain before giving up: while a run may be saved, and when only fit is left."""


class Search(Builder):
    """Works on lines of drums; ``cost`` is the score that ``plans.score`` gives the same plan."""

    def __init__(self, tables: Tables, seed: int) -> None:
        super().__init__(tables, seed)
        #: machines that take more than one piece; the others are served by due time
        self.shared = [m for m, model in enumerate(self.models) if model.most > 1]
        groups = components(tables)
        #: group -> the fewest runs it can take; sort -> its group
        self.least = [fewest_runs(tables, kinds) for kinds in groups]
        self.group = [0] * len(tables.company)
        for number, kinds in enumerate(groups):
            for kind in kinds:
                self.group[tables.sort[kind]] = number

    def guide(self, lines: Lines) -> float:
        """What steers the search: the score, less a bonus for full runs.

        The score alone can't tell two half-full runs from a full and a nearly empty one, which
        is the better place to save a run from.
        """
        bonus = 0.0
        for line in lines:
            for drum in line:
                bonus += drum.share * drum.share
        return self.cost(lines) - FULL_BONUS * bonus

    def line_cost(self, machine: int, line: list[Drum]) -> int:
        """Score of one machine's runs."""
        clock, late, rest = self.free[machine], 0, 0
        pause = self.models[machine].turnaround
        for drum in line:
            clock += drum.model.minutes[drum.programme]
            if clock > drum.first_due:
                late += drum.late(clock)
            clock += pause
            rest += RUN + drum.below
        return LATE_MINUTE * late + rest

    def cost(self, lines: Lines) -> int:
        return sum(self.line_cost(m, line) for m, line in enumerate(lines))

    def plan(self, rounds: int, known: Lines | None = None) -> Lines:
        """The best lines found in so many rounds; stops early at the score none can beat.

        With ``known`` lines the search starts there, if they are better than what it builds.
        """
        tables = self.tables
        waiting = dict(enumerate(tables.count))
        best: Lines = []
        best_cost = NEVER
        for order in self._orders(list(waiting)):
            for thrift in (1.0, 0.2):
                lines: Lines = [[] for _ in tables.machines]
                self.build(lines, waiting, order, thrift)
                for line, model in zip(lines, self.models, strict=True):
                    if model.most == 1:
                        line.sort(key=lambda drum: (drum.first_due, min(drum.content)))
                cost = self.cost(lines)
                if cost < best_cost:
                    best, best_cost = lines, cost
        if known is not None and self.cost(known) <= best_cost:
            best, best_cost = known, self.cost(known)
        now, now_guide = best, self.guide(best)
        last_gain = 0
        for turn in range(rounds):
            patience = PATIENCE if best_cost >= tables.floor + RUN else FIT_PATIENCE
            if best_cost <= tables.floor or turn - last_gain > patience:
                break
            heat = RUN * HEAT * (1 - turn / rounds) ** 2
            new = self._round(now)
            guide = self.guide(new)
            if guide < now_guide + heat * self.random.random():
                now, now_guide = new, guide
                cost = self.cost(new)
                if cost < best_cost:
                    last_gain = turn
                    best, best_cost = new, cost
        return best

    def _orders(self, kinds: list[int]) -> Iterable[list[int]]:
        tables = self.tables
        size = [k.grams for k in tables.kinds]
        yield sorted(kinds, key=lambda k: (tables.due[k], -size[k], k))
        yield sorted(kinds, key=lambda k: (tables.sort[k], tables.due[k], -size[k], k))
        yield sorted(kinds, key=lambda k: (-size[k], tables.due[k], k))

    def _round(self, lines: Lines) -> Lines:
        """One round: move a run, or take a part out and put it back."""
        new = [list(line) for line in lines]
        self.turn += 1
        pick = self.random.random()
        if pick < 0.25 and self._move_run(new):
            return new
        self.ends = [self.ends_of(m, line) for m, line in enumerate(new)]
        waiting = self._take_out(new)
        order = list(waiting)
        self._shuffle(order)
        rand = self.random.random
        self.build(new, waiting, order, 1.0 if rand() < 0.5 else rand(), 0.05)
        return new

    def _shuffle(self, order: list[int]) -> None:
        tables, rand = self.tables, self.random
        pick = rand.random()
        key: Callable[[int], float]
        if pick < 0.4:
            key = tables.due.__getitem__
        elif pick < 0.75:
            key = lambda k: -tables.kinds[k].grams  # noqa: E731
        else:
            key = lambda k: 0.0  # noqa: E731
        rand.shuffle(order)
        order.sort(key=key)

    def _move_run(self, lines: Lines) -> bool:
        """Put one run at another place in the day, on its own or another machine."""
        rand = self.random
        busy = [m for m in self.shared if lines[m]]
        if not busy:
            return False
        m = rand.choice(busy)
        j = rand.randrange(len(lines[m]))
        to = rand.choice(self.shared)
        drum = lines[m][j].on(self.tables, self.models[to])
        if drum is None:
            return False
        del lines[m][j]
        at = rand.randrange(len(lines[to]) + 1)
        if to != m and at < len(lines[to]) and rand.random() < 0.5:
            back = lines[to][at].on(self.tables, self.models[m])
            if back is not None:
                lines[to][at] = drum
                lines[m].insert(j, back)
                return True
        lines[to].insert(at, drum)
        return True

    def _take_out(self, lines: Lines) -> dict[int, int]:
        """Empty a few related runs, wholly or in part, and give what waits then."""
        tables, rand = self.tables, self.random
        places = [(m, j) for m in self.shared for j, drum in enumerate(lines[m]) if drum.company]
        if not places:
            return {}
        seeds = self._worth_it(lines, places) if rand.random() < FOCUS else places
        seed_m, seed_j = rand.choice(seeds)
        if rand.random() < 0.6:
            other_m, other_j = rand.choice(seeds)
            if lines[other_m][other_j].share < lines[seed_m][seed_j].share:
                seed_m, seed_j = other_m, other_j
        seed = lines[seed_m][seed_j]
        sorts = seed.sorts
        related = [
            (m, j)
            for m, j in places
            if (lines[m][j].company | lines[m][j].sorts) & sorts and (m, j) != (seed_m, seed_j)
        ]
        rand.shuffle(related)
        wide = rand.random() < WIDE
        chosen = [(seed_m, seed_j), *related[: 8 if wide else rand.randrange(1, 4)]]
        if rand.random() < 0.2:
            chosen.append(rand.choice(places))
        waiting: dict[int, int] = {}
        share = 1.0 if wide else rand.choice((0.3, 0.6, 1.0))
        emptied = []
        for m, j in sorted(set(chosen)):
            drum = lines[m][j]
            part = 1.0 if (m, j) == (seed_m, seed_j) else share
            if part == 1.0:
                for kind, number in drum.content.items():
                    waiting[kind] = waiting.get(kind, 0) + number
                emptied.append((m, j))
                continue
            rest = Drum(drum.model, self.turn)
            for kind, number in drum.content.items():
                out = 0
                if rand.random() < part:
                    out = number if number == 1 or rand.random() < 0.5 else rand.randint(1, number)
                    waiting[kind] = waiting.get(kind, 0) + out
                if out < number:
                    rest.add(tables, kind, number - out)
            lines[m][j] = rest
            if not rest.content or rest.taken > rest.model.room:
                # Without the gentlest piece a stronger programme may want more room.
                for kind, number in rest.content.items():
                    waiting[kind] = waiting.get(kind, 0) + number
                emptied.append((m, j))
        for m, j in sorted(emptied, reverse=True):
            del lines[m][j]
        return waiting

    def _worth_it(self, lines: Lines, places: list[tuple[int, int]]) -> list[tuple[int, int]]:
        """Runs of groups that use more runs than they must, and late runs; all where none is."""
        group_of = [self.group[first_bit(lines[m][j].sorts)] for m, j in places]
        counts = [0] * len(self.least)
        for group in group_of:
            counts[group] += 1
        found = [
            (m, j)
            for (m, j), group in zip(places, group_of, strict=True)
            if counts[group] > self.least[group] or self.ends[m][j] > lines[m][j].first_due
        ]
        return found or places
