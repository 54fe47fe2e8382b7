"""The steps of a route while it is being built: each at its station, with the rules behind it."""

from __future__ import annotations

from collections.abc import Iterable

from care_rules.decision import Settings, Step
from care_rules.gather import Gather
from care_rules.labels import Reading
from care_rules.limits import Tally
from care_rules.materials import Materials
from care_rules.process import Process
from care_rules.vocabulary import Facts

#: The processes that wet a piece through.
WATER = ("machine_wash", "hand_wash", "wet_clean")
_STATION = {
    "check": "counter",
    "remove_trim": "bench",
    "stabilise": "bench",
    "unpick": "bench",
    "test": "spotting",
    "pre_spot": "spotting",
    "rinse": "spotting",
    "wash": "wash",
    "wet_check": "check",
    "dry": "dry",
    "cool_down": "dry",
    "mend": "bench",
    "press": "press",
    "inspect": "check",
    "assemble": "counter",
    "send_out": "send_out",
}


class Route:
    """Builds the steps of one piece in their order."""

    __slots__ = ("facts", "gather", "materials", "process", "reading", "steps", "tally")

    def __init__(
        self,
        facts: Facts,
        reading: Reading,
        materials: Materials,
        gather: Gather,
        tally: Tally,
        process: Process,
    ) -> None:
        self.facts, self.reading, self.materials = facts, reading, materials
        self.gather, self.tally, self.process = gather, tally, process
        self.steps: list[Step] = []

    def add(
        self,
        step: str,
        says: str,
        because: Iterable[str],
        settings: Settings | None = None,
        station: str = "",
    ) -> None:
        notes = self.gather.notes.get(step)
        if step == "wash" and self.process.name not in WATER:
            notes = None  # they speak of water and detergent
        keys = set(because)
        if notes:
            says = " ".join([says, *sorted(notes)])
            keys |= set(notes.values())
        where = station or _STATION[step]
        self.steps.append(Step(step, where, says, settings or {}, tuple(sorted(keys))))

    def why(self, *axes: int) -> set[str]:
        return {key for axis in axes for key in self.tally.why[axis] or ()}
