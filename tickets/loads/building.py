"""Greedy building: every waiting piece goes where it costs least at that moment.

Runs on a machine follow each other without a gap, so a run's finish hangs on those before it.
"""

from __future__ import annotations

import random

from tickets.loads.drums import NEVER, Drum, Lines, first_bit
from tickets.loads.plans import LATE_MINUTE, RUN
from tickets.loads.tables import Tables


class Builder:
    """Puts pieces into lines of drums; ``turn`` numbers the round whose drums may be changed."""

    def __init__(self, tables: Tables, seed: int) -> None:
        self.tables = tables
        self.random = random.Random(seed)  # noqa: S311 - a repeatable shuffle, not a secret
        self.free = [machine.free_from for machine in tables.machines]
        self.models = [tables.models[number] for number in tables.model_of]
        self.turn = 0
        self.ends: list[list[int]] = []
        #: kind -> machines that can run it, and the least it can lose on any
        self.able = [
            [m for m, model in enumerate(self.models) if model.allowed[sort]]
            for sort in tables.sort
        ]
        self.least_below = [
            min(
                model.below[programme][kind]
                for model in tables.models
                for programme in range(len(model.minutes))
                if model.allowed[sort] >> programme & 1
            )
            for kind, sort in enumerate(tables.sort)
        ]
        self.largest_first = sorted(
            range(len(self.models)), key=lambda m: (-self.models[m].room, m)
        )

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
        self.ends = [self.ends_of(m, line) for m, line in enumerate(lines)]
        for kind in order:
            left = waiting[kind]
            while left:
                left -= self._place(lines, kind, left, thrift, blink)

    def _place(self, lines: Lines, kind: int, left: int, thrift: float, blink: float) -> int:
        """Put as many of a kind as one run takes where they cost least; how many that was."""
        tables = self.tables
        due, bulk = tables.due[kind], tables.bulk[kind]
        bit = 1 << tables.sort[kind]
        nothing_lost = self.least_below[kind]
        best = float(NEVER)
        where: tuple[int, int, int] | None = None
        rand = self.random.random
        for m in self.able[kind]:
            line, model, ends = lines[m], self.models[m], self.ends[m]
            allowed = model.allowed[tables.sort[kind]]
            for j, drum in enumerate(line):
                if not drum.company & bit or (blink and rand() < blink):
                    continue
                mask = drum.mask & allowed
                if not mask:
                    continue
                programme = drum.programme
                if mask >> programme & 1:
                    room = (model.room - drum.taken) // model.taken[programme][kind]
                    if room <= 0:
                        continue
                    room = min(room, left, model.most - drum.pieces)
                    if bulk:
                        room = min(room, (model.filled_room - drum.bulk) // bulk)
                    if room <= 0:
                        continue
                    each = float(model.below[programme][kind])
                    if ends[j] > due:
                        each += LATE_MINUTE * (ends[j] - due)
                else:
                    gentler = first_bit(mask)
                    if model.below[gentler][kind] >= best:
                        continue
                    found = self._gentler(line, j, kind, gentler, left, ends[j])
                    if found is None:
                        continue
                    room, each = found
                if each < best:
                    best, where = each, (m, j, room)
                    if each <= nothing_lost:
                        break
            if best <= nothing_lost:
                break
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
        programme = drum.programme
        drum.add(tables, kind, room)
        if drum.programme != programme:
            self.ends[m] = self.ends_of(m, line)
        return room

    def ends_of(self, m: int, line: list[Drum]) -> list[int]:
        """The minute at which each run of a machine ends."""
        clock, pause = self.free[m], self.models[m].turnaround
        found = []
        for drum in line:
            clock += drum.model.minutes[drum.programme]
            found.append(clock)
            clock += pause
        return found

    def _gentler(
        self, line: list[Drum], j: int, kind: int, programme: int, left: int, finish: int
    ) -> tuple[int, float] | None:
        """Pieces that fit, and what each costs, where the company must change its programme."""
        tables, drum = self.tables, line[j]
        model = drum.model
        taken, below = model.taken[programme], model.below[programme]
        old, loss = drum.if_run_at(programme)
        room = min((model.room - old) // taken[kind], left, model.most - drum.pieces)
        if tables.bulk[kind]:
            room = min(room, (model.filled_room - drum.bulk) // tables.bulk[kind])
        if room <= 0:
            return None
        fixed = loss - drum.below
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
            ends = self.ends[m]
            # From the back: what a run at this place pushes later adds up.
            pushed = 0
            for j in range(len(line), -1, -1):
                start = ends[j - 1] + model.turnaround if j else self.free[m]
                if j < len(line):
                    drum, finish = line[j], ends[j]
                    if finish + shift > drum.first_due:
                        pushed += drum.late(finish + shift) - drum.late(finish)
                each = (opening + LATE_MINUTE * pushed) / room + model.below[programme][kind]
                if start + minutes > due:
                    each += LATE_MINUTE * (start + minutes - due)
                if each < best:
                    best, where = each, (m, -1 - j, room)
        return where
