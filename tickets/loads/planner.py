"""The door of the load planner: pieces and machines in, runs in order out."""

from __future__ import annotations

from collections.abc import Sequence

from tickets.loads.drums import Lines, drum_of
from tickets.loads.items import LoadItem
from tickets.loads.runs import RUN, Plan, lay_out, score
from tickets.loads.search import Search
from tickets.loads.tables import Tables, tables_of
from tickets.shop.machine_facts import MachineFacts

MOST_ROUNDS, LEAST_ROUNDS, PIECE_ROUNDS = 2500, 300, 500_000
"""Rounds of improvement: the more pieces the fewer, so that a day of 400 stays under a second.
A count of rounds, and not a clock, keeps the plan the same on any computer."""

TRIES, FEW_RUNS = 2, 14


def plan_loads(
    pieces: Sequence[LoadItem],
    machines: Sequence[MachineFacts],
    rounds: int | None = None,
    known: Plan | None = None,
) -> Plan:
    """Runs for all pieces, in the order in which each machine should take them.

    Never incompatible and never overfull. By due time first, then with few runs, then so that
    pieces lose little of their own programme: see ``runs.score``. The same facts give the same
    plan, in whatever order they come. Pieces that no machine can take stand in ``left_over``.

    ``known`` is an earlier plan to start from: where it still serves all pieces, the new plan is
    never worse than it, however many machines are added. One that does not serve is ignored.
    """
    if len({piece.code for piece in pieces}) < len(pieces):
        raise ValueError("two pieces have one code: give each piece once")
    if len({machine.key for machine in machines}) < len(machines):
        raise ValueError("two machines have one key: give each machine once")
    tables = tables_of(pieces, machines, _horizon(pieces, machines))
    if not tables.kinds:
        return Plan((), tuple(tables.left_over))
    if rounds is None:
        rounds = max(LEAST_ROUNDS, min(MOST_ROUNDS, PIECE_ROUNDS // len(pieces)))
    start = _lines_of(tables, known) if known else None
    found = plan_of(tables, _search(tables, rounds, start))
    if known and start is not None:
        # The search counts far due times as one, so the scores are compared as they stand.
        again = plan_of(tables, start)
        return min(again, found, key=score)
    return found


def _lines_of(tables: Tables, plan: Plan) -> Lines | None:
    """The plan as lines of drums; None where it is no legal plan for these pieces."""
    kind_of = {piece.code: k for k, codes in enumerate(tables.codes) for piece in codes}
    place = {machine.key: m for m, machine in enumerate(tables.machines)}
    lines: Lines = [[] for _ in tables.machines]
    left = set(kind_of)
    for run in plan.runs:
        m = place.get(run.machine.key)
        codes = [piece.code for piece in run.pieces]
        if m is None or not left.issuperset(codes):
            return None
        left.difference_update(codes)
        model = tables.models[tables.model_of[m]]
        drum = drum_of(tables, model, [kind_of[code] for code in codes])
        if drum is None:
            return None
        lines[m].append(drum)
    return None if left else lines


def _search(tables: Tables, rounds: int, start: Lines | None) -> Lines:
    """The best of a few searches: more than one only where a run weighs much in the score.

    One run too many in ten is dear and in forty it is not, and small days are quick to search.
    """
    best: Lines = []
    lowest = 1 << 62
    for seed in range(1, TRIES + 1):
        search = Search(tables, seed)
        lines = search.plan(rounds, start)
        cost = search.cost(lines)
        if cost < lowest:
            best, lowest = lines, cost
        if lowest < tables.floor + RUN or sum(map(len, best)) > FEW_RUNS:
            break
    return best


def _horizon(pieces: Sequence[LoadItem], machines: Sequence[MachineFacts]) -> int:
    """A minute by which the day is surely done: twice what its litres and lone pieces ask.

    A due time beyond it presses nobody, and need not be told from another.
    """
    shared = [m for m in machines if m.most_pieces != 1] or list(machines)
    if not shared:
        return 0
    room = sum(m.room for m in shared) / len(shared)
    lone = sum(p.alone or p.colour_group in ("mixed", "unknown") for p in pieces)
    runs = sum(p.grams for p in pieces) * _LITRES_PER_KG / room + lone + _COLOURS
    longest = max(p.minutes + m.turnaround for m in machines for p in m.programmes)
    return max(m.free_from for m in machines) + round(2 * runs / len(shared) + 2) * longest


_LITRES_PER_KG, _COLOURS = 15, 4


def plan_of(tables: Tables, lines: Lines) -> Plan:
    """The plan that lines of drums stand for; equal pieces go in by their codes."""
    waiting = [list(reversed(codes)) for codes in tables.codes]
    loads = []
    for machine, line in zip(tables.machines, lines, strict=True):
        for drum in line:
            content = [
                waiting[kind].pop()
                for kind in sorted(drum.content)
                for _ in range(drum.content[kind])
            ]
            loads.append((machine, content))
    plan = lay_out(loads)
    return Plan(plan.runs, tuple(tables.left_over))
