"""The day as whole numbers: sorts, kinds of piece and machine models, worked out once.

Pieces of one sort, weight and due minute are interchangeable; the search moves them by count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import le

from tickets.loads.items import LoadItem, allows, bulk, room_taken, steps_below
from tickets.loads.runs import LATE_MINUTE, RUN, STEP_BELOW
from tickets.loads.together import shares
from tickets.shop.machine_facts import MachineFacts


class Model:
    """What machines of one make share. Lists run over programmes, strongest first."""

    __slots__ = (
        "allowed",
        "allows",
        "below",
        "filled_room",
        "first",
        "grows",
        "machine",
        "minutes",
        "most",
        "room",
        "taken",
        "turnaround",
    )

    def __init__(
        self,
        machine: MachineFacts,
        kinds: Sequence[LoadItem],
        sorts: Sequence[int],
        like: Model | None = None,
    ) -> None:
        """``like`` is a model of the same programmes, whose lists serve this one too."""
        programmes = sorted(machine.programmes, key=lambda p: p.strength)
        self.machine = machine
        self.minutes = [p.minutes for p in programmes]
        self.room = machine.room
        self.most = machine.most_pieces or 1 << 30
        by_weight = any(p.by_weight for p in programmes)
        self.filled_room = 1 << 60 if by_weight else machine.filled_room
        self.turnaround = machine.turnaround
        #: sort -> bits of the programmes it allows
        self.allowed: list[int] = []
        #: programme -> kind of piece -> room it takes
        self.taken: list[list[int]]
        #: programme -> kind of piece -> cost of what it loses, counted for the score
        self.below: list[list[int]]
        #: programme -> bits of those under which no kind takes less room than under it
        self.grows: list[int]
        if like:
            self.taken, self.below, self.grows = like.taken, like.below, like.grows
        else:
            self.taken = [[room_taken(k, p) for k in kinds] for p in programmes]
            self.below = [[STEP_BELOW * steps_below(k, p) for k in kinds] for p in programmes]
            self.grows = [
                sum(1 << p for p, there in enumerate(self.taken) if all(map(le, here, there)))
                for here in self.taken
            ]
        known: dict[int, int] = {}
        for kind, sort in zip(kinds, sorts, strict=True):
            if sort not in known:
                known[sort] = sum(
                    1 << bit for bit, p in enumerate(programmes) if allows(kind, p, machine.kind)
                )
        self.allowed = [known[sort] for sort in range(len(known))]
        #: the same by kind of piece
        self.allows = [self.allowed[sort] for sort in sorts]
        #: kind -> its own programme when it runs by itself, or -1 where it can't run here
        self.first = [-1] * len(kinds)
        for number, (kind, sort) in enumerate(zip(kinds, sorts, strict=True)):
            mask = self.allowed[sort]
            if mask:
                programme = (mask & -mask).bit_length() - 1
                fits = self.taken[programme][number] <= self.room
                if fits and (by_weight or bulk(kind) <= self.filled_room):
                    self.first[number] = programme


@dataclass(frozen=True)
class Tables:
    """The planning problem. ``kinds`` index ``count``, ``due``, ``sort`` and ``bulk``."""

    kinds: list[LoadItem]
    codes: list[list[LoadItem]]
    count: list[int]
    due: list[int]
    sort: list[int]
    bulk: list[int]
    share: list[float]
    company: list[int]
    models: list[Model]
    machines: list[MachineFacts]
    model_of: list[int]
    left_over: list[LoadItem]
    floor: int
    #: sort -> its circle: sorts that may meet the same others; few, so their bits are small
    circle: list[int]
    #: kind -> its circle's bit, the bits of the circles it may meet, due minute, bulk and share:
    #: what the search reads at every step
    facts: list[tuple[int, int, int, int, float]]


def tables_of(
    pieces: Sequence[LoadItem], machines: Sequence[MachineFacts], horizon: int | None = None
) -> Tables:
    """Group and number everything in an order that does not hang on the order given.

    Dues after ``horizon`` count as due then, so that fewer kinds of piece differ.
    """
    machines = sorted(machines, key=lambda m: m.key)
    sort_key: dict[LoadItem, tuple[object, ...]] = {piece: piece.sort for piece in pieces}
    grouped: dict[tuple[int, int, tuple[object, ...]], list[LoadItem]] = {}
    for piece in sorted(pieces, key=lambda p: p.code):
        by = piece.due if horizon is None else min(piece.due, horizon)
        grouped.setdefault((by, piece.grams, sort_key[piece]), []).append(piece)
    order = sorted(grouped, key=repr)
    kinds = [grouped[key][0] for key in order]
    sort_numbers: dict[tuple[object, ...], int] = {}
    sorts = [sort_numbers.setdefault(sort_key[kind], len(sort_numbers)) for kind in kinds]
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
            like = next((m for m in models if m.machine.programmes == machine.programmes), None)
            models.append(Model(machine, kinds, sorts, like))
        model_of.append(makes[make])
    fits = [any(model.first[k] >= 0 for model in models) for k in range(len(kinds))]
    left_over = [p for k, key in enumerate(order) if not fits[k] for p in grouped[key]]
    if left_over:
        gone = {piece.code for piece in left_over}
        rest = [piece for piece in pieces if piece.code not in gone]
        found = tables_of(rest, machines, horizon)
        return Tables(**{**vars(found), "left_over": sorted(left_over, key=lambda p: p.code)})
    company = _company(kinds, sorts, len(sort_numbers))
    circle, meets = circles(company)
    count = [len(grouped[key]) for key in order]
    due, bulks, share = [key[0] for key in order], [*map(bulk, kinds)], _shares(models, len(kinds))
    bits = [1 << circle[sort] for sort in sorts]
    met = [meets[circle[sort]] for sort in sorts]
    tables = Tables(
        kinds=kinds,
        codes=[grouped[key] for key in order],
        count=count,
        due=due,
        sort=sorts,
        bulk=bulks,
        share=share,
        company=company,
        models=models,
        machines=machines,
        model_of=model_of,
        left_over=[],
        floor=0,
        circle=circle,
        facts=list(zip(bits, met, due, bulks, share, strict=True)),
    )
    return Tables(**{**vars(tables), "floor": lower_bound(tables)})


def _shares(models: Sequence[Model], number: int) -> list[float]:
    """Kind -> its share of the widest drum in its own programme."""
    widest = max(model.room for model in models)
    return [
        min(m.taken[m.first[kind]][kind] for m in models if m.first[kind] >= 0) / widest
        for kind in range(number)
    ]


def _company(kinds: Sequence[LoadItem], sorts: Sequence[int], number: int) -> list[int]:
    """Sort -> bits of the sorts it may share a drum with (its own bit too, unless alone)."""
    first: dict[int, LoadItem] = {}
    for kind, sort in zip(kinds, sorts, strict=True):
        first.setdefault(sort, kind)
    found = [0] * number
    for a in range(number):
        for b in range(a, number):
            if shares(first[a], first[b]):
                found[a] |= 1 << b
                found[b] |= 1 << a
    return found


def circles(company: Sequence[int]) -> tuple[list[int], list[int]]:
    """Sort -> its circle, and circle -> bits of the circles that it may share a drum with."""
    numbers: dict[int, int] = {}
    circle = [numbers.setdefault(row, len(numbers)) for row in company]
    # Whoever may meet one of a circle may meet all of it: company is the same both ways.
    meets = [
        sum(1 << other for other in {circle[s] for s in range(len(company)) if row >> s & 1})
        for row in numbers
    ]
    return circle, meets


def components(tables: Tables) -> list[list[int]]:
    """Kinds of piece parted into groups between which no drum is ever shared."""
    number = len(tables.company)
    group = list(range(number))
    for a in range(number):
        for b in range(number):
            if tables.company[a] >> b & 1 and group[a] != group[b]:
                old, new = max(group[a], group[b]), min(group[a], group[b])
                group = [new if g == old else g for g in group]
    found: dict[int, list[int]] = {}
    for kind, sort in enumerate(tables.sort):
        found.setdefault(group[sort], []).append(kind)
    return list(found.values())


def fewest_runs(tables: Tables, kinds: Sequence[int]) -> int:
    """Runs that these kinds need at least.

    By the room that their pieces take in the best machine for each, or by the same sum over two
    sets of sorts of which no one may meet the other, whichever is more.
    """
    room: dict[int, float] = {}
    number: dict[int, float] = {}
    for kind in kinds:
        sort, count = tables.sort[kind], tables.count[kind]
        each, pieces = _least_share(tables, kind)
        if not tables.company[sort] >> sort & 1:
            each = pieces = 1.0
        room[sort] = room.get(sort, 0.0) + each * count
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
    """A score that no plan can beat: a search that reaches it may stop."""
    total = RUN * sum(fewest_runs(tables, kinds) for kinds in components(tables))
    free: dict[int, int] = {}
    for machine, number in zip(tables.machines, tables.model_of, strict=True):
        free[number] = min(free.get(number, machine.free_from), machine.free_from)
    for kind, count in enumerate(tables.count):
        soonest, below = 1 << 60, 1 << 60
        for number, free_from in free.items():
            model = tables.models[number]
            mask = model.allows[kind]
            for programme, minutes in enumerate(model.minutes):
                if mask >> programme & 1:
                    soonest = min(soonest, free_from + minutes)
                    below = min(below, model.below[programme][kind])
        total += count * (LATE_MINUTE * max(0, soonest - tables.due[kind]) + below)
    return total
