"""The search behind the planner: build greedily, then tear down a part and build it again.

Deterministic: a fixed seed and a fixed number of rounds, never a clock.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tickets.loads.building import Builder
from tickets.loads.drums import NEVER, Drum, Lines, first_bit
from tickets.loads.runs import LATE_MINUTE, RUN
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


Place = tuple[int, int]
"""Machine and place in its line."""


class Search(Builder):
    """Works on lines of drums; ``cost`` is the score that ``runs.score`` gives the same plan."""

    def __init__(self, tables: Tables, seed: int) -> None:
        super().__init__(tables, seed)
        #: machines that take more than one piece; the others are served by due time
        self.shared = [m for m, model in enumerate(self.models) if model.most > 1]
        self.weight = [kind.grams for kind in tables.kinds]
        groups = components(tables)
        #: group -> the fewest runs it can take; circle -> its group
        self.least = [fewest_runs(tables, kinds) for kinds in groups]
        self.group = [0] * len(tables.company)
        for number, kinds in enumerate(groups):
            for kind in kinds:
                self.group[tables.circle[tables.sort[kind]]] = number

    def guide(self, lines: Lines, cost: int) -> float:
        """What steers the search: the score, less a bonus for full runs.

        The score alone can't tell two half-full runs from a full and a nearly empty one, which
        is the better place to save a run from.
        """
        bonus = 0.0
        for line in lines:
            for drum in line:
                bonus += drum.share * drum.share
        return cost - FULL_BONUS * bonus

    def line_cost(self, line: list[Drum]) -> int:
        """Score of one machine's runs, of which each knows when it ends."""
        late = rest = 0
        for drum in line:
            if drum.end > drum.first_due:
                late += drum.late(drum.end, self.tables.due)
            rest += drum.below
        return LATE_MINUTE * late + RUN * len(line) + rest

    def costs(self, lines: Lines) -> list[int]:
        """Score of each machine's runs, which are told their ends first."""
        for m, line in enumerate(lines):
            self.set_ends(m, line)
        return [self.line_cost(line) for line in lines]

    def cost(self, lines: Lines) -> int:
        return sum(self.costs(lines))

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
        now, costs = best, self.costs(best)
        now_guide = self.guide(now, sum(costs))
        last_gain = 0
        for turn in range(rounds):
            patience = PATIENCE if best_cost >= tables.floor + RUN else FIT_PATIENCE
            if best_cost <= tables.floor or turn - last_gain > patience:
                break
            heat = RUN * HEAT * (1 - turn / rounds) ** 2
            new = self._round(now)
            # A line of the very same drums costs what it did.
            changed = [m for m, line in enumerate(new) if line != now[m]]
            new_costs = list(costs)
            for m in changed:
                new_costs[m] = self.line_cost(new[m])
            cost = sum(new_costs)
            guide = self.guide(new, cost)
            if guide < now_guide + heat * self.random.random():
                now, now_guide, costs = new, guide, new_costs
                if cost < best_cost:
                    last_gain = turn
                    best, best_cost = new, cost
            else:
                for m in changed:
                    self.set_ends(m, now[m])
        return best

    def _orders(self, kinds: list[int]) -> Iterable[list[int]]:
        tables = self.tables
        size = self.weight
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
        waiting = self._take_out(new)
        order = self._order(waiting)
        rand = self.random.random
        self.build(new, waiting, order, 1.0 if rand() < 0.5 else rand(), 0.05)
        return new

    def _order(self, waiting: dict[int, int]) -> list[int]:
        """The kinds that wait, by due time, by weight or by chance."""
        order = list(waiting)
        pick = self.random.random()
        self._shuffle(order)
        if pick < 0.4:
            order.sort(key=self.tables.due.__getitem__)
        elif pick < 0.75:
            order.sort(key=self.weight.__getitem__, reverse=True)
        return order

    def _shuffle(self, items: list[Any]) -> None:
        """``random.shuffle`` with the same draws, without a call for each item."""
        bits = self.random.getrandbits
        for last in range(len(items) - 1, 0, -1):
            width = (last + 1).bit_length()
            place = bits(width)
            while place > last:
                place = bits(width)
            items[last], items[place] = items[place], items[last]

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
        back = None
        if to != m and at < len(lines[to]) and rand.random() < 0.5:
            back = lines[to][at].on(self.tables, self.models[m])
        if back is not None:
            lines[to][at] = drum
            lines[m].insert(j, back)
        else:
            lines[to].insert(at, drum)
        for changed in {m, to}:
            self.set_ends(changed, lines[changed])
        return True

    def _take_out(self, lines: Lines) -> dict[int, int]:
        """Empty a few related runs, wholly or in part, and give what waits then."""
        tables, rand = self.tables, self.random
        places, drums = [], []
        for m in self.shared:
            for j, drum in enumerate(lines[m]):
                if drum.company:
                    places.append((m, j))
                    drums.append(drum)
        if not places:
            return {}
        seeds = self._worth_it(places, drums) if rand.random() < FOCUS else places
        seed_m, seed_j = rand.choice(seeds)
        if rand.random() < 0.6:
            other_m, other_j = rand.choice(seeds)
            if lines[other_m][other_j].share < lines[seed_m][seed_j].share:
                seed_m, seed_j = other_m, other_j
        seed = lines[seed_m][seed_j]
        circles = seed.circles
        related = [
            place
            for place, drum in zip(places, drums, strict=True)
            if drum.company & circles and drum is not seed
        ]
        self._shuffle(related)
        wide = rand.random() < WIDE
        chosen = [(seed_m, seed_j), *related[: 8 if wide else rand.randrange(1, 4)]]
        if rand.random() < 0.2:
            chosen.append(rand.choice(places))
        waiting: dict[int, int] = {}
        share = 1.0 if wide else rand.choice((0.3, 0.6, 1.0))
        emptied = []
        chance = rand.random
        for m, j in sorted(set(chosen)):
            drum = lines[m][j]
            part = 1.0 if (m, j) == (seed_m, seed_j) else share
            if part == 1.0:
                for kind, number in drum.content.items():
                    waiting[kind] = waiting.get(kind, 0) + number
                emptied.append((m, j))
                continue
            kept = []
            for kind, number in drum.content.items():
                out = 0
                if chance() < part:
                    out = number if number == 1 or chance() < 0.5 else rand.randint(1, number)
                    waiting[kind] = waiting.get(kind, 0) + out
                if out < number:
                    kept.append((kind, number - out))
            rest = lines[m][j] = Drum(drum.model, self.turn)
            rest.fill(tables, kept)
            if not kept or rest.space < 0:
                # Without the gentlest piece a stronger programme may want more room.
                for kind, number in kept:
                    waiting[kind] = waiting.get(kind, 0) + number
                emptied.append((m, j))
        for m, j in sorted(emptied, reverse=True):
            del lines[m][j]
        for m in {m for m, _ in chosen}:
            self.set_ends(m, lines[m])
        return waiting

    def _worth_it(self, places: list[Place], drums: list[Drum]) -> list[Place]:
        """Runs of groups that use more runs than they must, and late runs; all where none is."""
        group_of = [self.group[first_bit(drum.circles)] for drum in drums]
        counts = [0] * len(self.least)
        for group in group_of:
            counts[group] += 1
        found = [
            place
            for place, drum, group in zip(places, drums, group_of, strict=True)
            if counts[group] > self.least[group] or drum.end > drum.first_due
        ]
        return found or places
