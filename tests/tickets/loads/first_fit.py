"""First fit decreasing, the textbook rule, beside the planner: heaviest piece first, into the
first run that may take it, else a new run on the machine that is free soonest."""

from __future__ import annotations

from collections.abc import Sequence

from tickets.loads.items import LoadItem, allows
from tickets.loads.runs import Plan, lay_out
from tickets.loads.together import programme_for, shares, why_not_fit
from tickets.shop.machine_facts import MachineFacts


def first_fit_decreasing(pieces: Sequence[LoadItem], machines: Sequence[MachineFacts]) -> Plan:
    """A legal plan by that rule; each machine then takes its runs by their earliest due time."""
    loads: list[tuple[MachineFacts, list[LoadItem]]] = []
    free = {machine.key: machine.free_from for machine in machines}
    known: dict[tuple[object, object], bool] = {}

    def company(a: LoadItem, b: LoadItem) -> bool:
        key = (a.sort, b.sort)
        if key not in known:
            known[key] = shares(a, b)
        return known[key]

    for piece in sorted(pieces, key=lambda p: (-p.grams, p.code)):
        for machine, load in loads:
            if all(company(piece, other) for other in load) and not why_not_fit(
                [*load, piece], machine
            ):
                load.append(piece)
                break
        else:
            able = [
                m
                for m in machines
                if any(allows(piece, p, m.kind) for p in m.programmes)
                and not why_not_fit([piece], m)
            ]
            machine = min(able, key=lambda m: (free[m.key], -m.room, m.key))
            programme = programme_for([piece], machine)
            assert programme is not None
            free[machine.key] += programme.minutes + machine.turnaround
            loads.append((machine, [piece]))
    loads.sort(key=lambda load: min(piece.due for piece in load[1]))
    return lay_out(loads)
