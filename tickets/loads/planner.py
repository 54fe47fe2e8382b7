"""The door of the load planner: pieces and machines in, runs in order out."""

from __future__ import annotations

from collections.abc import Sequence

from tickets.loads.facts import LoadPiece, Machine
from tickets.loads.plans import Plan, lay_out
from tickets.loads.search import Lines, Search
from tickets.loads.tables import Tables, tables_of

ROUNDS = 400
"""Rounds of improvement for a day that the lower bound does not end sooner."""


def plan_loads(
    pieces: Sequence[LoadPiece], machines: Sequence[Machine], rounds: int = ROUNDS
) -> Plan:
    """Runs for all pieces, in the order in which each machine should take them.

    Never incompatible and never overfull. By due time first, then with few runs, then so that
    pieces lose little of their own programme: see ``plans.score``. The same facts give the same
    plan, in whatever order they come. Pieces that no machine can take stand in ``left_over``.
    """
    if len({piece.code for piece in pieces}) < len(pieces):
        raise ValueError("two pieces have one code: give each piece once")
    if len({machine.key for machine in machines}) < len(machines):
        raise ValueError("two machines have one key: give each machine once")
    tables = tables_of(pieces, machines)
    if not tables.kinds:
        return Plan((), tuple(tables.left_over))
    return plan_of(tables, Search(tables).plan(rounds))


def plan_of(tables: Tables, lines: Lines) -> Plan:
    """The plan that lines of drums stand for; equal pieces go in by their codes."""
    waiting = [list(reversed(codes)) for codes in tables.codes]
    loads = []
    for machine, line in zip(tables.machines, lines, strict=True):
        for drum in line:
            content = [
                waiting[kind].pop() for kind in sorted(drum.content) for _ in range(drum.content[kind])
            ]
            loads.append((machine, content))
    plan = lay_out(loads)
    return Plan(plan.runs, tuple(tables.left_over))
