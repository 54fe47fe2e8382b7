"""The search behind the planner: build greedily, then tear down a part and build it again.

Deterministic: a fixed seed and a fixed number of rounds, never a clock. Runs on a machine follow
each other without a gap, so a run's finish hangs on those before it.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable

from tickets.loads.plans import LATE_MINUTE, RUN
from tickets.loads.tables import Model, Tables

_NONE = 1 << 60

FULL_BONUS = RUN * 0.5
HEAT = 0.4


class Drum:
    """The content of one run on a machine of one model."""

    __slots__ = (
        "below",
        "born",
        "bulk",
        "company",
        "content",
        "dues",
        "first_due",
        "mask",
        "model",
        "pieces",
        "programme",
        "share",
        "taken",
    )

    def __init__(self, model: Model, born: int = 0) -> None:
        self.model = model
        #: the round that made it, and so may change it
        self.born = born
        self.content: dict[int, int] = {}
        self.dues: dict[int, int] = {}
        self.first_due = _NONE
        self.pieces = self.taken = self.bulk = self.below = 0
        self.share = 0.0
        self.programme = -1
        self.mask = self.company = -1

    def copy(self, born: int) -> Drum:
        twin = Drum.__new__(Drum)
        twin.model, twin.born = self.model, born
        twin.content = self.content.copy()
        twin.dues = self.dues.copy()
        twin.first_due = self.first_due
        twin.pieces, twin.taken, twin.bulk = self.pieces, self.taken, self.bulk
        twin.below, twin.programme = self.below, self.programme
        twin.mask, twin.company, twin.share = self.mask, self.company, self.share
        return twin

    def late(self, finish: int) -> int:
        """Minutes of lateness, summed over pieces, when the run ends at ``finish``."""
        if finish <= self.first_due:
            return 0
        return sum(n * (finish - due) for due, n in self.dues.items() if due < finish)

    def add(self, tables: Tables, kind: int, number: int) -> None:
        """Put pieces in; the caller has made sure that they fit and may share."""
        model, sort, due = self.model, tables.sort[kind], tables.due[kind]
        self.content[kind] = self.content.get(kind, 0) + number
        self.dues[due] = self.dues.get(due, 0) + number
        self.first_due = min(self.first_due, due)
        self.pieces += number
        self.bulk += number * tables.bulk[kind]
        self.share += number * tables.share[kind]
        self.company &= tables.company[sort]
        self.mask &= model.allowed[sort]
        programme = (self.mask & -self.mask).bit_length() - 1
        if programme == self.programme:
            self.taken += number * model.taken[programme][kind]
            self.below += number * model.below[programme][kind]
        else:
            self._set_programme(programme)

    def remove(self, tables: Tables, kind: int, number: int) -> None:
        """Take pieces out; the programme may become stronger again."""
        content, due = self.content, tables.due[kind]
        left = content[kind] - number
        self.pieces -= number
        self.bulk -= number * tables.bulk[kind]
        self.share -= number * tables.share[kind]
        if self.dues[due] == number:
            del self.dues[due]
            self.first_due = min(self.dues, default=_NONE)
        else:
            self.dues[due] -= number
        if left:
            content[kind] = left
            self.taken -= number * self.model.taken[self.programme][kind]
            self.below -= number * self.model.below[self.programme][kind]
            return
        del content[kind]
        if content:
            self.mask = self.company = -1
            for sort in {tables.sort[k] for k in content}:
                self.mask &= self.model.allowed[sort]
                self.company &= tables.company[sort]
            self._set_programme((self.mask & -self.mask).bit_length() - 1)

    def _set_programme(self, programme: int) -> None:
        taken, below = self.model.taken[programme], self.model.below[programme]
        self.programme = programme
        self.taken = sum(n * taken[k] for k, n in self.content.items())
        self.below = sum(n * below[k] for k, n in self.content.items())

    @property
    def minutes(self) -> int:
        return self.model.minutes[self.programme]

    def on(self, tables: Tables, model: Model) -> Drum | None:
        """The same pieces on a machine of another model; None where they do not fit."""
        if model is self.model:
            return self
        twin = Drum(model)
        mask = -1
        for kind in self.content:
            mask &= model.allowed[tables.sort[kind]]
        if not mask or self.pieces > model.most or self.bulk > model.filled_room:
            return None
        programme = (mask & -mask).bit_length() - 1
        taken = model.taken[programme]
        if sum(n * taken[k] for k, n in self.content.items()) > model.room:
            return None
        for kind, number in self.content.items():
            twin.add(tables, kind, number)
        return twin


Lines = list[list[Drum]]
"""For each machine its runs in order."""


class Search:
    """Works on lines of drums; ``cost`` is the score that ``plans.score`` gives the same plan."""

    def __init__(self, tables: Tables, seed: int = 7) -> None:
        self.tables = tables
        self.random = random.Random(seed)  # noqa: S311 - a repeatable shuffle, not a secret
        self.free = [machine.free_from for machine in tables.machines]
        self.models = [tables.models[number] for number in tables.model_of]
        self.turn = 0
        self.largest_first = sorted(
            range(len(self.models)), key=lambda m: (-self.models[m].room, m)
        )

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

    # Building

    def build(
        self,
        lines: Lines,
        waiting: dict[int, int],
        order: list[int],
        thrift: float,
        blink: float = 0.0,
    ) -> None:
        """Put all waiting pieces in, each where it costs least at that moment.

        ``thrift`` scales what opening a run is thought to cost: below 1 it trusts that later
        pieces will share it. ``blink`` is the chance to overlook a place.
        """
        for kind in order:
            left = waiting[kind]
            while left:
                left -= self._place(lines, kind, left, thrift, blink)

    def _place(self, lines: Lines, kind: int, left: int, thrift: float, blink: float) -> int:
        """Put as many of a kind as one run takes where they cost least; how many that was."""
        tables = self.tables
        sort, due, bulk = tables.sort[kind], tables.due[kind], tables.bulk[kind]
        best = float(_NONE)
        where: tuple[int, int, int] | None = None
        rand = self.random.random
        for m, line in enumerate(lines):
            model = self.models[m]
            allowed = model.allowed[sort]
            if not allowed:
                continue
            clock, pause = self.free[m], model.turnaround
            minutes = model.minutes
            for j, drum in enumerate(line):
                programme = drum.programme
                clock += minutes[programme]
                finish = clock
                clock += pause
                if not drum.company >> sort & 1 or (blink and rand() < blink):
                    continue
                mask = drum.mask & allowed
                if not mask:
                    continue
                if mask >> programme & 1:
                    room = (model.room - drum.taken) // model.taken[programme][kind]
                    room = min(room, left, model.most - drum.pieces)
                    if bulk:
                        room = min(room, (model.filled_room - drum.bulk) // bulk)
                    if room <= 0:
                        continue
                    each = float(model.below[programme][kind])
                    if finish > due:
                        each += LATE_MINUTE * (finish - due)
                else:
                    found = self._gentler(line, j, kind, mask, left, finish)
                    if found is None:
                        continue
                    room, each = found
                if each < best:
                    best, where = each, (m, j, room)
        if where is None or best * left > RUN * thrift:
            opened = self._open(lines, kind, left, thrift, best)
            if opened is not None:
                where = opened
        assert where is not None
        m, j, room = where
        line = lines[m]
        if j < 0:
            drum = Drum(self.models[m], self.turn)
            line.insert(-1 - j, drum)
        else:
            drum = line[j]
            if drum.born != self.turn:
                drum = line[j] = drum.copy(self.turn)
        drum.add(tables, kind, room)
        return room

    def _gentler(
        self, line: list[Drum], j: int, kind: int, mask: int, left: int, finish: int
    ) -> tuple[int, float] | None:
        """Pieces that fit, and what each costs, where the company must change its programme."""
        tables, drum = self.tables, line[j]
        model = drum.model
        programme = (mask & -mask).bit_length() - 1
        taken, below = model.taken[programme], model.below[programme]
        old = sum(n * taken[k] for k, n in drum.content.items())
        room = min((model.room - old) // taken[kind], left, model.most - drum.pieces)
        if tables.bulk[kind]:
            room = min(room, (model.filled_room - drum.bulk) // tables.bulk[kind])
        if room <= 0:
            return None
        fixed = sum(n * below[k] for k, n in drum.content.items()) - drum.below
        shift = model.minutes[programme] - model.minutes[drum.programme]
        if shift:
            fixed += LATE_MINUTE * self._shift(line, j, finish, shift)
        each = fixed / room + below[kind]
        if finish + shift > tables.due[kind]:
            each += LATE_MINUTE * (finish + shift - tables.due[kind])
        return room, each

    def _shift(self, line: list[Drum], j: int, finish: int, shift: int) -> int:
        """Change in late minutes when run ``j`` and those after it end ``shift`` later."""
        change = 0
        last = len(line) - 1
        for place in range(j, last + 1):
            drum = line[place]
            change += drum.late(finish + shift) - drum.late(finish)
            if place < last:
                after = line[place + 1]
                finish += drum.model.turnaround + after.model.minutes[after.programme]
        return change

    def _open(
        self, lines: Lines, kind: int, left: int, thrift: float, best: float
    ) -> tuple[int, int, int] | None:
        """The cheapest place for a new run, when it beats ``best`` for each piece."""
        tables = self.tables
        due, bulk = tables.due[kind], tables.bulk[kind]
        where = None
        alone = not tables.company[tables.sort[kind]] >> tables.sort[kind] & 1
        for m in self.largest_first:
            line, model = lines[m], self.models[m]
            programme = model.first[kind]
            if programme < 0:
                continue
            taken = model.taken[programme][kind]
            room = 1 if alone else min(model.room // taken, left, model.most)
            if bulk:
                room = min(room, model.filled_room // bulk)
            opening = RUN * (thrift + (1 - thrift) * room * taken / model.room)
            minutes = model.minutes[programme]
            shift = minutes + model.turnaround
            # From the back: what a run at this place pushes later adds up.
            starts = []
            clock = self.free[m]
            for drum in line:
                starts.append(clock)
                clock += drum.model.minutes[drum.programme] + model.turnaround
            pushed = 0
            for j in range(len(line), -1, -1):
                start = clock if j == len(line) else starts[j]
                if j < len(line):
                    drum = line[j]
                    finish = start + drum.model.minutes[drum.programme]
                    if finish + shift > drum.first_due:
                        pushed += drum.late(finish + shift) - drum.late(finish)
                each = (opening + LATE_MINUTE * pushed) / room + model.below[programme][kind]
                if start + minutes > due:
                    each += LATE_MINUTE * (start + minutes - due)
                if each < best:
                    best, where = each, (m, -1 - j, room)
        return where

    # Improving

    def plan(self, rounds: int) -> Lines:
        """The best lines found in so many rounds; stops early at the score none can beat."""
        tables = self.tables
        waiting = dict(enumerate(tables.count))
        best: Lines = []
        best_cost = _NONE
        for order in self._orders(list(waiting)):
            for thrift in (1.0, 0.2):
                lines: Lines = [[] for _ in tables.machines]
                self.build(lines, waiting, order, thrift)
                cost = self.cost(lines)
                if cost < best_cost:
                    best, best_cost = lines, cost
        now, now_guide = best, self.guide(best)
        for turn in range(rounds):
            if best_cost <= tables.floor:
                break
            heat = RUN * HEAT * (1 - turn / rounds) ** 2
            new = self._round(now)
            guide = self.guide(new)
            if guide < now_guide + heat * self.random.random():
                now, now_guide = new, guide
                cost = self.cost(new)
                if cost < best_cost:
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
        busy = [m for m, line in enumerate(lines) if line]
        if not busy:
            return False
        m = rand.choice(busy)
        j = rand.randrange(len(lines[m]))
        to = rand.randrange(len(lines))
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
        places = [(m, j) for m, line in enumerate(lines) for j in range(len(line))]
        seed_m, seed_j = rand.choice(places)
        seed = lines[seed_m][seed_j]
        sorts = 0
        for kind in seed.content:
            sorts |= 1 << tables.sort[kind]
        related = [
            (m, j)
            for m, j in places
            if (m, j) != (seed_m, seed_j) and self._touches(lines[m][j], sorts)
        ]
        rand.shuffle(related)
        chosen = [(seed_m, seed_j), *related[: rand.randrange(1, 4)]]
        if rand.random() < 0.2:
            chosen.append(rand.choice(places))
        waiting: dict[int, int] = {}
        share = rand.choice((0.3, 0.6, 1.0))
        emptied = []
        for m, j in sorted(set(chosen)):
            drum = lines[m][j]
            part = 1.0 if (m, j) == (seed_m, seed_j) else share
            if part == 1.0:
                for kind, number in drum.content.items():
                    waiting[kind] = waiting.get(kind, 0) + number
                emptied.append((m, j))
                continue
            drum = lines[m][j] = drum.copy(self.turn)
            for kind, number in list(drum.content.items()):
                if rand.random() < part:
                    out = number if rand.random() < 0.5 else rand.randint(1, number)
                    drum.remove(tables, kind, out)
                    waiting[kind] = waiting.get(kind, 0) + out
            if not drum.content:
                emptied.append((m, j))
        for m, j in sorted(emptied, reverse=True):
            del lines[m][j]
        return waiting

    def _touches(self, drum: Drum, sorts: int) -> bool:
        """Whether some of these sorts may join the drum, or share a sort with it."""
        return bool(drum.company & sorts) or any(
            sorts >> self.tables.sort[kind] & 1 for kind in drum.content
        )
