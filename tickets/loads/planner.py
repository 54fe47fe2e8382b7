"""The load planner: which pieces share a run, on which machine, and when.

``plan_loads`` makes a plan, ``better_plan`` keeps an old one where it finds no better; then:

1. ``_Day``: pieces and machines as whole numbers, worked out once; each is its place in a list.
2. ``_Run``: what one run holds. A run is never changed, only replaced.
3. ``_Draft``: a plan in the making. A piece goes where it costs least at that moment.
4. ``_search``: each round tears down runs that could share their pieces and places these again, or
   moves a run, and the search goes on from there if that was better.

``runs.score`` says what costs, ``together`` who may share, ``items`` what a piece allows and takes.
Rounds are counted and the seed is fixed: the same facts, the same plan.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, combinations_with_replacement
from math import inf

from tickets.loads.items import LoadItem, allows, bulk, room_taken, steps_below
from tickets.loads.runs import LATE_MINUTE, RUN, STEP_BELOW, Plan, faults, lay_out, score
from tickets.loads.together import shares
from tickets.shop.machine_facts import MachineFacts

_STRETCH, _LEAST_ROUNDS, _EACH_ROUNDS, _ALL_ROUNDS = 1000, 400, 20, 320_000
"""Rounds from hot to cold, when the search starts again from its best; and rounds of a day, by its
pieces: few for a small one, and few for a large one, that it stays well under a second."""

_HEAT, _FULL_BONUS = 0.4 * RUN, 2 * RUN
"""How much worse than the one before it a plan may be while hot, and what a full run is thought to
be worth: from a full and a nearly empty run one is saved sooner than from two half-full ones."""

_MOVE, _LATE_FIRST, _THIN_FIRST, _STRAY = 0.25, 0.5, 0.6, 0.2
"""Chances that a round moves a run in place of tearing down, that it begins at a late run, at the
thinner of two, and that it tears down one more run that has nothing to do with the others."""


def plan_loads(
    pieces: Sequence[LoadItem], machines: Sequence[MachineFacts], rounds: int | None = None
) -> Plan:
    """Runs for all pieces, in the order in which each machine should take them.

    Never incompatible, never overfull, and by ``runs.score``. The same facts give the same plan, in
    whatever order they come. Pieces that no machine can take stand in ``left_over``. ValueError
    where two pieces have one code or two machines one key.
    """
    day = _Day(pieces, machines)
    return day.plan_of(_search(day, _greedy(day), rounds))


def better_plan(known: Plan, pieces: Sequence[LoadItem], machines: Sequence[MachineFacts]) -> Plan:
    """As ``plan_loads``, and never worse than the ``known`` plan, where that still serves."""
    plan = plan_loads(pieces, machines)
    piece_of = {piece.code: piece for piece in pieces}
    machine_of = {machine.key: machine for machine in machines}
    try:
        again = lay_out(
            (machine_of[run.machine.key], [piece_of[piece.code] for piece in run.pieces])
            for run in known.runs
        )
    except (KeyError, ValueError):
        return plan
    again = Plan(again.runs, plan.left_over)
    return plan if faults(again, pieces) else min(again, plan, key=score)


class _Drum:
    """What the pieces of the day are to machines of one kind with the same programmes.

    Programmes run from the strongest to the gentlest and stand as bits: the lowest bit that all
    pieces of a run allow is the run's programme.
    """

    def __init__(self, machine: MachineFacts, pieces: Sequence[LoadItem]) -> None:
        programmes = sorted(machine.programmes, key=lambda p: p.strength)
        self.minutes = [programme.minutes for programme in programmes]
        #: programme -> piece -> millilitres it takes, and what it loses, as the score counts it
        self.taken = [[room_taken(piece, p) for piece in pieces] for p in programmes]
        self.loss = [[STEP_BELOW * steps_below(piece, p) for piece in pieces] for p in programmes]
        #: piece -> bits of the programmes that it allows
        self.allowed = [
            sum(1 << bit for bit, p in enumerate(programmes) if allows(piece, p, machine.kind))
            for piece in pieces
        ]

    def sum_of(self, figures: list[list[int]], programme: int, run: _Run) -> int:
        """What the run's pieces take or lose together under another programme."""
        return sum([figures[programme][piece] for piece in run.pieces])


@dataclass(slots=True)
class _Run:
    """What one run holds: bits of the sorts that all inside may meet and of the programmes that
    all allow, millilitres, what the pieces lose, and when the first of them is due."""

    pieces: tuple[int, ...]
    company: int
    allowed: int
    programme: int
    minutes: int
    taken: int
    filled: int
    loss: int
    size: int
    due: int


class _Day:
    """Pieces by code and machines by size. Lists run over pieces, or over machines."""

    def __init__(self, pieces: Sequence[LoadItem], machines: Sequence[MachineFacts]) -> None:
        if len({piece.code for piece in pieces}) < len(pieces):
            raise ValueError("two pieces have one code: give each piece once")
        if len({machine.key for machine in machines}) < len(machines):
            raise ValueError("two machines have one key: give each machine once")
        self.rng = random.Random(1)  # noqa: S311 - a repeatable shuffle, not a secret
        self.pieces = sorted(pieces, key=lambda piece: piece.code)
        self.due = [piece.due for piece in self.pieces]
        self.filled = [bulk(piece) for piece in self.pieces]
        self._set_company()
        self.machines = sorted(machines, key=lambda machine: (-machine.room, machine.key))
        self.numbers = range(len(self.machines))
        self.room = [machine.room for machine in self.machines]
        self.most = [machine.most_pieces or inf for machine in self.machines]
        self.filled_room = [
            inf if any(p.by_weight for p in machine.programmes) else machine.filled_room
            for machine in self.machines
        ]
        kinds = {(m.kind, m.programmes): m for m in self.machines}
        made = {key: _Drum(machine, self.pieces) for key, machine in kinds.items()}
        self.drums = [made[m.kind, m.programmes] for m in self.machines]
        #: piece -> millilitres it takes at least
        self.size = [*map(min, zip(*chain(*(drum.taken for drum in made.values())), strict=True))]
        #: piece -> machines that can take it, each with the run that it would be alone
        self.alone = [
            {m: run for m in self.numbers if (run := self.run_of(m, (piece,)))}
            for piece in range(len(self.pieces))
        ]

    def _set_company(self) -> None:
        """Number the sorts of piece, and learn as bits which of them may share a run."""
        samples = {piece.sort: piece for piece in reversed(self.pieces)}
        number = {sort: place for place, sort in enumerate(samples)}
        company = [0] * len(samples)
        for a, b in combinations_with_replacement(samples, 2):
            if shares(samples[a], samples[b]):
                company[number[a]] |= 1 << number[b]
                company[number[b]] |= 1 << number[a]
        self.sort = [1 << number[piece.sort] for piece in self.pieces]
        self.company = [company[number[piece.sort]] for piece in self.pieces]

    def run_of(self, m: int, pieces: tuple[int, ...]) -> _Run | None:
        """These pieces as a run of one machine; None where they may not share or do not fit."""
        drum = self.drums[m]
        company = allowed = -1
        for piece in pieces:
            if not company & self.sort[piece]:
                return None
            company &= self.company[piece]
            allowed &= drum.allowed[piece]
        if not allowed or len(pieces) > self.most[m]:
            return None
        programme = (allowed & -allowed).bit_length() - 1
        taken = sum([drum.taken[programme][piece] for piece in pieces])
        filled = sum([self.filled[piece] for piece in pieces])
        if taken > self.room[m] or filled > self.filled_room[m]:
            return None
        minutes = drum.minutes[programme]
        loss = sum([drum.loss[programme][piece] for piece in pieces])
        size = sum([self.size[piece] for piece in pieces])
        due = min([self.due[piece] for piece in pieces])
        return _Run(pieces, company, allowed, programme, minutes, taken, filled, loss, size, due)

    def joined(self, m: int, run: _Run, piece: int) -> _Run:
        """The run with one piece more, which is known to fit and to be good company."""
        drum, programme, minutes = self.drums[m], run.programme, run.minutes
        allowed = run.allowed & drum.allowed[piece]
        pieces, company = (*run.pieces, piece), run.company & self.company[piece]
        if not allowed >> programme & 1 and (changed := self.run_of(m, pieces)):
            return changed
        taken = run.taken + drum.taken[programme][piece]
        loss = run.loss + drum.loss[programme][piece]
        filled, size = run.filled + self.filled[piece], run.size + self.size[piece]
        due = min(run.due, self.due[piece])
        return _Run(pieces, company, allowed, programme, minutes, taken, filled, loss, size, due)

    def plan_of(self, draft: _Draft) -> Plan:
        loads = [
            (machine, [self.pieces[piece] for piece in run.pieces])
            for machine, line in zip(self.machines, draft.lines, strict=True)
            for run in line
        ]
        left_over = [piece for piece, runs in zip(self.pieces, self.alone, strict=True) if not runs]
        return Plan(lay_out(loads).runs, tuple(left_over))


class _Draft:
    """A plan in the making: each machine's line of runs, and the minute at which each run ends."""

    def __init__(self, day: _Day, twin: _Draft | None = None) -> None:
        self.day = day
        self.lines: list[list[_Run]] = [list(twin.lines[m]) if twin else [] for m in day.numbers]
        self.ends: list[list[int]] = [twin.ends[m] if twin else [] for m in day.numbers]

    def set_ends(self, m: int) -> None:
        """Runs of a machine follow each other without a gap but its turnaround."""
        machine = self.day.machines[m]
        clock, self.ends[m] = machine.free_from, []
        for run in self.lines[m]:
            self.ends[m].append(clock + run.minutes)
            clock += run.minutes + machine.turnaround

    def late(self, run: _Run, end: int) -> int:
        """Late minutes, summed over the run's pieces, when it ends at that minute."""
        if end <= run.due:
            return 0
        due = self.day.due
        return sum([end - due[piece] for piece in run.pieces if due[piece] < end])

    def cost(self) -> int:
        """What ``runs.score`` gives the same plan."""
        runs, ends = [*chain(*self.lines)], [*chain(*self.ends)]
        late = sum(map(self.late, runs, ends))
        return LATE_MINUTE * late + sum([RUN + run.loss for run in runs])

    def guide(self, cost: int) -> float:
        """The cost less a bonus for full runs: what steers the search."""
        full = sum([(run.size / self.day.room[0]) ** 2 for run in chain(*self.lines)])
        return cost - _FULL_BONUS * full

    def place_all(self, pieces: Sequence[int]) -> _Draft:
        """Put one piece after the other where it costs least at that moment."""
        for piece in pieces:
            least, m, j = self._join(piece)
            opened = self._open(piece, least) if least > RUN else None
            if opened is not None:
                m, j = opened
                self.lines[m].insert(j, self.day.alone[piece][m])
            else:
                run = self.lines[m][j]
                self.lines[m][j] = self.day.joined(m, run, piece)
            if opened or self.lines[m][j].minutes != run.minutes:
                self.set_ends(m)
        return self

    def _join(self, piece: int) -> tuple[float, int, int]:
        """The cheapest run that stands: its cost, its machine and its place in the line."""
        day = self.day
        sort, due, filled = day.sort[piece], day.due[piece], day.filled[piece]
        size, least, at = day.size[piece], inf, (-1, -1)
        for m, line in enumerate(self.lines):
            drum, room, able = day.drums[m], day.room[m], day.drums[m].allowed[piece]
            for j, run in enumerate(line):
                full = run.taken + size > room or len(run.pieces) >= day.most[m]
                allowed = run.allowed & able
                if full or not (allowed and run.company & sort):
                    continue
                programme = (allowed & -allowed).bit_length() - 1
                stays = programme == run.programme
                taken = run.taken if stays else drum.sum_of(drum.taken, programme, run)
                # Of equals the fuller run: less than a step decides.
                cost = drum.loss[programme][piece] + 0.9 * (1 - taken / room)
                if cost >= least or taken + drum.taken[programme][piece] > room:
                    continue
                if filled and filled + run.filled > day.filled_room[m]:
                    continue
                end = self.ends[m][j]
                if not stays:
                    cost += drum.sum_of(drum.loss, programme, run) - run.loss
                    longer = drum.minutes[programme] - run.minutes
                    end += longer
                    cost += LATE_MINUTE * self._pushed(m, j, longer) if longer else 0
                cost += LATE_MINUTE * (end - due) if end > due else 0
                if cost < least:
                    least, at = cost, (m, j)
        return least, *at

    def _pushed(self, m: int, first: int, minutes: int) -> int:
        """Late minutes more where the runs from the ``first`` on end so much later."""
        after = zip(self.lines[m][first:], self.ends[m][first:], strict=True)
        return sum([self.late(r, end + minutes) - self.late(r, end) for r, end in after])

    def _open(self, piece: int, least: float) -> tuple[int, int] | None:
        """Machine and place of the cheapest new run; None where none costs less than ``least``."""
        due, at = self.day.due[piece], None
        for m, run in self.day.alone[piece].items():
            machine, ends = self.day.machines[m], self.ends[m]
            for j in range(len(ends), -1, -1):
                pushed = self._pushed(m, j, run.minutes + machine.turnaround)
                cost = RUN + run.loss + LATE_MINUTE * pushed
                if cost >= least:
                    break  # Further to the front it pushes no less.
                end = run.minutes + (ends[j - 1] + machine.turnaround if j else machine.free_from)
                cost += LATE_MINUTE * max(0, end - due)
                if cost < least:
                    least, at = cost, (m, j)
                if end <= due:
                    break  # On time: nothing is won further to the front.
        return at


def _greedy(day: _Day) -> _Draft:
    """The best of three simple plans: pieces by due time, by sort, and by size."""
    pieces = [piece for piece, runs in enumerate(day.alone) if runs]
    orders = (
        sorted(pieces, key=lambda p: (day.due[p], -day.size[p])),
        sorted(pieces, key=lambda p: (day.sort[p], day.due[p], -day.size[p])),
        sorted(pieces, key=lambda p: (-day.size[p], day.due[p])),
    )
    return min((_Draft(day).place_all(order) for order in orders), key=_Draft.cost)


def _search(day: _Day, start: _Draft, rounds: int | None) -> _Draft:
    """The best draft of so many rounds; it never costs more than the start."""
    if sum(map(len, start.lines)) < 2:
        return start
    n = len(day.pieces)
    rounds = rounds or max(_LEAST_ROUNDS, min(_EACH_ROUNDS * n, _ALL_ROUNDS // n))
    best, best_cost = start, start.cost()
    for first in range(0, rounds, _STRETCH):
        stretch, before = min(_STRETCH, rounds - first), best_cost
        now, guide = best, best.guide(best_cost)
        for turn in range(stretch):
            draft = _Draft(day, now)
            if day.rng.random() >= _MOVE or not _move(draft, day.rng):
                _rebuild(draft, day.rng)
            cost = draft.cost()
            new_guide, heat = draft.guide(cost), _HEAT * (1 - turn / stretch) ** 2
            if new_guide < guide + heat * day.rng.random():
                now, guide = draft, new_guide
                if cost < best_cost:
                    best, best_cost = draft, cost
        if best_cost == before:
            break
    return best


def _places(draft: _Draft) -> list[tuple[int, int]]:
    """Machine and place of all runs but those of machines that take one piece at a time."""
    day = draft.day
    return [(m, j) for m, ls in enumerate(draft.lines) if day.most[m] > 1 for j in range(len(ls))]


def _move(draft: _Draft, rng: random.Random) -> bool:
    """Put one run at another place, on its own or another machine, or let two change places."""
    day, places = draft.day, _places(draft)
    if not places:
        return False
    m, j = rng.choice(places)
    to = rng.choice([place for place, most in enumerate(day.most) if most > 1])
    run = day.run_of(to, draft.lines[m][j].pieces)
    if run is None:
        return False
    del draft.lines[m][j]
    line = draft.lines[to]
    at = rng.randrange(len(line) + 1)
    swap = to != m and at < len(line) and rng.random() < 0.5
    back = day.run_of(m, line[at].pieces) if swap else None
    if back is not None:
        draft.lines[m].insert(j, back)
        line[at] = run
    else:
        line.insert(at, run)
    draft.set_ends(m)
    draft.set_ends(to)
    return True


def _rebuild(draft: _Draft, rng: random.Random) -> None:
    """Tear down a run and parts of a few that could share its pieces, and place all that again."""
    day, lines, ends = draft.day, draft.lines, draft.ends
    places = [(m, j) for m, j in _places(draft) if lines[m][j].company]
    if not places:
        return
    late = [(m, j) for m, j in places if ends[m][j] > lines[m][j].due]
    firsts = late if late and rng.random() < _LATE_FIRST else places
    thin = min(rng.choices(firsts, k=2), key=lambda place: lines[place[0]][place[1]].size)
    first = thin if rng.random() < _THIN_FIRST else rng.choice(firsts)
    sorts = sum({day.sort[piece] for piece in lines[first[0]][first[1]].pieces})
    related = [(m, j) for m, j in places if lines[m][j].company & sorts and (m, j) != first]
    torn = {first, *rng.sample(related, min(len(related), rng.randrange(1, 4)))}
    if rng.random() < _STRAY:
        torn.add(rng.choice(places))
    share, waiting = rng.choice((0.3, 0.6, 1.0)), list[int]()
    for m, j in sorted(torn, reverse=True):
        run = lines[m].pop(j)
        stay = tuple([p for p in run.pieces if (m, j) != first and rng.random() > share])
        rest = day.run_of(m, stay) if stay else None
        if rest is not None:
            lines[m].insert(j, rest)
        waiting += [p for p in run.pieces if rest is None or p not in stay]
        draft.set_ends(m)
    rng.shuffle(waiting)
    order = rng.random()
    if order < 0.75:
        waiting.sort(key=lambda p: day.due[p] if order < 0.4 else -day.size[p])
    draft.place_all(waiting)
