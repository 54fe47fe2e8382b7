"""Greedy building: every waiting piece goes where it costs least at that moment.

Runs on a machine follow each other without a gap, so a run's finish hangs on those before it.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from tickets.loads.drums import NEVER, Drum, Lines
from tickets.loads.runs import LATE_MINUTE, RUN
from tickets.loads.tables import Model, Tables

Able = tuple[int, Model, int, tuple[int, ...], tuple[int, ...]]
Opening = tuple[int, Model, int, int, int, int]


class Builder:
    """Puts pieces into lines of drums; ``turn`` numbers the round whose drums may be changed."""

    def __init__(self, tables: Tables, seed: int) -> None:
        self.tables = tables
        self.random = random.Random(seed)  # noqa: S311 - a repeatable shuffle, not a secret
        self.free = [machine.free_from for machine in tables.machines]
        self.models = [tables.models[number] for number in tables.model_of]
        self.turn = 0
        #: machine -> circle's bit -> its drums that welcomed the circle when last looked through
        self.near: list[dict[int, list[Drum]]] = []
        # Kind -> machines that can run it, each with its model, the programmes that it allows
        # there as bits, and programme by programme the room it takes and what it loses.
        able: list[list[Able]] = [[] for _ in tables.kinds]
        by_kind = {
            model: (list(zip(*model.taken, strict=True)), list(zip(*model.below, strict=True)))
            for model in tables.models
        }
        for m, model in enumerate(self.models):
            taken, below = by_kind[model]
            for kind, sort in enumerate(tables.sort):
                if model.allowed[sort]:
                    able[kind].append((m, model, model.allowed[sort], taken[kind], below[kind]))
        least_below = [
            min(
                below[programme]
                for _, model, allowed, _, below in machines
                for programme in range(len(model.minutes))
                if allowed >> programme & 1
            )
            for machines in able
        ]
        #: kind -> its circle's bit, due minute, bulk, the least it can lose, and its machines
        self.wants = [
            (tables.facts[kind][0], tables.due[kind], tables.bulk[kind], least, machines)
            for kind, (least, machines) in enumerate(zip(least_below, able, strict=True))
        ]
        #: kind -> machine, model, most pieces, room of each, minutes and loss of a run of its own
        self.openings: list[list[Opening] | None] = [None] * len(tables.kinds)
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
        self.near = [{} for _ in lines]
        place = self._place
        rand = self.random.random if blink else _never_blink
        for kind in order:
            left = waiting[kind]
            while left:
                left -= place(lines, kind, left, thrift, blink, rand)

    def _place(
        self,
        lines: Lines,
        kind: int,
        left: int,
        thrift: float,
        blink: float,
        rand: Callable[[], float],
    ) -> int:
        """Put as many of a kind as one run takes where they cost least; how many that was."""
        bit, due, bulk, nothing_lost, machines = self.wants[kind]
        nears = self.near
        best: float = NEVER
        # The place found: machine, drum and how many pieces (0: as many as fit).
        to, target, room = -1, None, 0
        for m, model, allowed, taken, below in machines:
            nearby = nears[m]
            if bit in nearby:
                near = nearby[bit]
            else:
                near = nearby[bit] = [drum for drum in lines[m] if drum.company & bit]
            for drum in near:
                # Company only narrows while building: a list may hold too much, never too little.
                if not drum.company & bit or rand() < blink:
                    continue
                programme = drum.programme
                if allowed >> programme & 1:
                    # The cheap questions first; how many fit is asked of the winner alone.
                    if taken[programme] > drum.space:
                        continue
                    each: float = below[programme]
                    if each >= best:
                        continue
                    if drum.end > due:
                        each += LATE_MINUTE * (drum.end - due)
                        if each >= best:
                            continue
                    if drum.pieces >= model.most or (bulk and drum.bulk + bulk > model.filled_room):
                        continue
                    best, to, target, room = each, m, drum, 0
                else:
                    mask = drum.mask & allowed
                    if not mask:
                        continue
                    gentler = (mask & -mask).bit_length() - 1  # first_bit, spelt out for speed
                    if below[gentler] >= best or (
                        taken[gentler] > drum.space and model.grows[programme] >> gentler & 1
                    ):
                        continue
                    found = self._gentler(lines[m], drum, kind, gentler, left, best)
                    if found is None:
                        continue
                    room, best = found
                    to, target = m, drum
                if best <= nothing_lost:
                    break
            else:
                continue
            break  # No place on another machine can cost less.
        if target is None or best * left > RUN * thrift:
            opened = self._open(lines, kind, left, thrift, best)
            if opened is not None:
                to, at, room = opened
                drum = Drum(self.models[to], self.turn)
                drum.add(self.tables, kind, room)
                lines[to].insert(at, drum)
                self.set_ends(to, lines[to])
                self.near[to] = {}
                return room
        assert target is not None
        if target.born != self.turn:
            old, line = target, lines[to]
            target = line[line.index(old)] = old.copy(self.turn)
            self.near[to] = {}
        if not room:
            room = 1 if left == 1 else target.fits(kind, bulk, left)
            target.join(self.tables, kind, room)
            return room
        minutes = target.minutes
        target.add(self.tables, kind, room)
        if target.minutes != minutes:
            self.set_ends(to, lines[to])
        return room

    def set_ends(self, m: int, line: list[Drum]) -> None:
        """Tell each run of a machine at which minute it ends."""
        clock, pause = self.free[m], self.models[m].turnaround
        for drum in line:
            drum.end = clock = clock + drum.minutes
            clock += pause

    def _gentler(
        self, line: list[Drum], drum: Drum, kind: int, programme: int, left: int, best: float
    ) -> tuple[int, float] | None:
        """Pieces that fit, and what each costs, where the company must change its programme.

        None where none fits or each costs no less than ``best``.
        """
        tables, model = self.tables, drum.model
        old, loss = drum.if_run_at(programme)
        room = min((model.room - old) // model.taken[programme][kind], left)
        if room > model.most - drum.pieces:
            room = model.most - drum.pieces
        if bulk := tables.bulk[kind]:
            room = min(room, (model.filled_room - drum.bulk) // bulk)
        if room <= 0:
            return None
        fixed = loss - drum.below
        below = model.below[programme][kind]
        shift = model.minutes[programme] - drum.minutes
        if shift:
            if shift > 0 and fixed / room + below >= best:
                return None  # Ending later can only add to it.
            fixed += LATE_MINUTE * self._shift(line, line.index(drum), shift)
        each = fixed / room + below
        late = drum.end + shift - tables.due[kind]
        if late > 0:
            each += LATE_MINUTE * late
        return (room, each) if each < best else None

    def _shift(self, line: list[Drum], j: int, shift: int) -> int:
        """Change in late minutes when run ``j`` and those after it end ``shift`` later."""
        change = 0
        due = self.tables.due
        for drum in line[j:]:
            end = drum.end
            later = end + shift
            if later > drum.first_due or end > drum.first_due:
                change += drum.late(later, due) - drum.late(end, due)
        return change

    def _open(
        self, lines: Lines, kind: int, left: int, thrift: float, best: float
    ) -> tuple[int, int, int] | None:
        """The cheapest place for a new run, when it beats ``best`` for each piece."""
        due, dues = self.tables.due[kind], self.tables.due
        where = None
        for m, model, most, taken, minutes, loss in self.openings[kind] or self._opening(kind):
            room = min(most, left)
            opening = RUN * (thrift + (1 - thrift) * room * taken / model.room)
            if opening / room + loss >= best:
                continue
            line, pause = lines[m], model.turnaround
            shift = minutes + pause
            # From the back: what a run at this place pushes later adds up.
            pushed = 0
            for j in range(len(line), -1, -1):
                start = line[j - 1].end + pause if j else self.free[m]
                if j < len(line):
                    drum, finish = line[j], line[j].end
                    if finish + shift > drum.first_due:
                        pushed += drum.late(finish + shift, dues) - drum.late(finish, dues)
                each = (opening + LATE_MINUTE * pushed) / room + loss
                if each >= best:
                    break  # Further to the front it pushes no less.
                late = start + minutes - due
                if late > 0:
                    each += LATE_MINUTE * late
                if each < best:
                    best, where = each, (m, j, room)
                if late <= 0:
                    break  # On time: nothing is won further to the front.
        return where

    def _opening(self, kind: int) -> list[Opening]:
        """What a run of one kind is on each machine that can start it, the largest first."""
        found = self.openings[kind]
        if found is None:
            tables, bulk = self.tables, self.tables.bulk[kind]
            alone = not tables.company[tables.sort[kind]] >> tables.sort[kind] & 1
            found = self.openings[kind] = []
            for m in self.largest_first:
                model = self.models[m]
                programme = model.first[kind]
                if programme >= 0:
                    taken = model.taken[programme][kind]
                    most = 1 if alone else min(model.room // taken, model.most)
                    if bulk:
                        most = min(most, model.filled_room // bulk)
                    minutes, loss = model.minutes[programme], model.below[programme][kind]
                    found.append((m, model, most, taken, minutes, loss))
        return found


def _never_blink() -> float:
    return 1.0
