"""The day as the exact solver takes it: kinds of piece and machine models as whole numbers, and a
score that no plan can beat.

Pieces of one sort, weight and due minute are interchangeable; the solver moves them by count. The
planner has numbers of its own, so that a fault in one can't hide in both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tickets.loads.items import LoadItem, allows, bulk, room_taken, steps_below
from tickets.loads.runs import LATE_MINUTE, RUN, STEP_BELOW
from tickets.loads.together import shares
from tickets.shop.machine_facts import MachineFacts


class Model:
    """What machines of one make share. Lists run over programmes, strongest first."""

    def __init__(
        self, machine: MachineFacts, kinds: Sequence[LoadItem], sorts: Sequence[int]
    ) -> None:
        programmes = sorted(machine.programmes, key=lambda p: p.strength)
        self.minutes = [p.minutes for p in programmes]
        self.room = machine.room
        self.most = machine.most_pieces or 1 << 30
        by_weight = any(p.by_weight for p in programmes)
        self.filled_room = 1 << 60 if by_weight else machine.filled_room
        self.turnaround = machine.turnaround
        #: programme -> kind of piece -> room it takes, and what it loses, as the score counts it
        self.taken = [[room_taken(k, p) for k in kinds] for p in programmes]
        self.below = [[STEP_BELOW * steps_below(k, p) for k in kinds] for p in programmes]
        known: dict[int, int] = {}
        for kind, sort in zip(kinds, sorts, strict=True):
            if sort not in known:
                known[sort] = sum(
                    1 << bit for bit, p in enumerate(programmes) if allows(kind, p, machine.kind)
                )
        #: sort -> bits of the programmes it allows
        self.allowed = [known[sort] for sort in range(len(known))]
        #: kind -> its own programme when it runs by itself, or -1 where it can't run here
        self.first = [-1] * len(kinds)
        for number, (kind, sort) in enumerate(zip(kinds, sorts, strict=True)):
            mask = self.allowed[sort]
            if mask:
                programme = (mask & -mask).bit_length() - 1
                if self.taken[programme][number] <= self.room and bulk(kind) <= self.filled_room:
                    self.first[number] = programme


@dataclass(frozen=True)
class Tables:
    """The planning problem. ``kinds`` index ``codes``, ``count``, ``due``, ``sort``, ``bulk``.

    ``company``: sort -> bits of the sorts that it may share a drum with.
    """

    kinds: list[LoadItem]
    codes: list[list[LoadItem]]
    count: list[int]
    due: list[int]
    sort: list[int]
    bulk: list[int]
    company: list[int]
    models: list[Model]
    machines: list[MachineFacts]
    model_of: list[int]


def tables_of(pieces: Sequence[LoadItem], machines: Sequence[MachineFacts]) -> Tables:
    """Group and number everything in an order that does not hang on the order given.

    Pieces that no machine can take are left out.
    """
    machines = sorted(machines, key=lambda m: m.key)
    grouped: dict[tuple[int, int, tuple[object, ...]], list[LoadItem]] = {}
    for piece in sorted(pieces, key=lambda p: p.code):
        grouped.setdefault((piece.due, piece.grams, piece.sort), []).append(piece)
    order = sorted(grouped, key=repr)
    kinds = [grouped[key][0] for key in order]
    sort_numbers: dict[tuple[object, ...], int] = {}
    sorts = [sort_numbers.setdefault(kind.sort, len(sort_numbers)) for kind in kinds]
    models: list[Model] = []
    makes: dict[tuple[object, ...], int] = {}
    model_of = []
    for machine in machines:
        make = (
            machine.kind,
            machine.litres,
            machine.programmes,
            machine.turnaround,
            machine.most_pieces,
        )
        if make not in makes:
            makes[make] = len(models)
            models.append(Model(machine, kinds, sorts))
        model_of.append(makes[make])
    fits = [any(model.first[k] >= 0 for model in models) for k in range(len(kinds))]
    if not all(fits):
        served = [p for k, key in enumerate(order) if fits[k] for p in grouped[key]]
        return tables_of(served, machines)
    return Tables(
        kinds=kinds,
        codes=[grouped[key] for key in order],
        count=[len(grouped[key]) for key in order],
        due=[key[0] for key in order],
        sort=sorts,
        bulk=[bulk(kind) for kind in kinds],
        company=_company(kinds, sorts, len(sort_numbers)),
        models=models,
        machines=machines,
        model_of=model_of,
    )


def _company(kinds: Sequence[LoadItem], sorts: Sequence[int], number: int) -> list[int]:
    """Sort -> bits of the sorts it may share a drum with (its own bit too, unless alone)."""
    first: dict[int, LoadItem] = {}
    for kind, sort in zip(kinds, sorts, strict=True):
        first.setdefault(sort, kind)
    masks = [0] * number
    for a in range(number):
        for b in range(a, number):
            if shares(first[a], first[b]):
                masks[a] |= 1 << b
                masks[b] |= 1 << a
    return masks


def components(tables: Tables) -> list[list[int]]:
    """Kinds of piece parted into groups between which no drum is ever shared."""
    number = len(tables.company)
    group = list(range(number))
    for a in range(number):
        for b in range(number):
            if tables.company[a] >> b & 1 and group[a] != group[b]:
                old, new = max(group[a], group[b]), min(group[a], group[b])
                group = [new if g == old else g for g in group]
    kinds_of: dict[int, list[int]] = {}
    for kind, sort in enumerate(tables.sort):
        kinds_of.setdefault(group[sort], []).append(kind)
    return list(kinds_of.values())


def fewest_runs(tables: Tables, kinds: Sequence[int]) -> int:
    """Runs that these kinds need at least.

    By the room that their pieces take in the best machine for each, or by the same sum over two
    sets of sorts of which no one may meet the other, whichever is more.
    """
    room: dict[int, float] = {}
    number: dict[int, float] = {}
    for kind in kinds:
        sort, count = tables.sort[kind], tables.count[kind]
        share, pieces = _least_share(tables, kind)
        if not tables.company[sort] >> sort & 1:
            share = pieces = 1.0
        room[sort] = room.get(sort, 0.0) + share * count
        number[sort] = number.get(sort, 0.0) + pieces * count

    def least(sorts: Sequence[int]) -> int:
        return max(_up(sum(room[s] for s in sorts)), _up(sum(number[s] for s in sorts)))

    best = max(1, least(list(room)))
    for sort in room:
        others = [s for s in room if not tables.company[sort] >> s & 1 and s != sort]
        if others:
            foes = sum(1 << s for s in others)
            side = [s for s in room if not tables.company[s] & foes and s not in others]
            best = max(best, least(side) + least(others))
    return best


def _least_share(tables: Tables, kind: int) -> tuple[float, float]:
    """The smallest share of a drum, by room and by count, that one piece of a kind can take."""
    room = pieces = 1.0
    for model in tables.models:
        mask = model.allowed[tables.sort[kind]]
        if mask:
            for programme, taken in enumerate(model.taken):
                if mask >> programme & 1:
                    room = min(room, taken[kind] / model.room)
            pieces = min(pieces, 1 / model.most)
    return room, pieces


def _up(value: float) -> int:
    return -int(-(value - 1e-9) // 1)


def lower_bound(tables: Tables) -> int:
    """A score that no plan can beat."""
    total = RUN * sum(fewest_runs(tables, kinds) for kinds in components(tables))
    free: dict[int, int] = {}
    for machine, number in zip(tables.machines, tables.model_of, strict=True):
        free[number] = min(free.get(number, machine.free_from), machine.free_from)
    for kind, count in enumerate(tables.count):
        soonest, below = 1 << 60, 1 << 60
        for number, free_from in free.items():
            model = tables.models[number]
            mask = model.allowed[tables.sort[kind]]
            for programme, minutes in enumerate(model.minutes):
                if mask >> programme & 1:
                    soonest = min(soonest, free_from + minutes)
                    below = min(below, model.below[programme][kind])
        total += count * (LATE_MINUTE * max(0, soonest - tables.due[kind]) + below)
    return total
