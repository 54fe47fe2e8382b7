"""The steps of a route while it is being built: each at its station, with the rules behind it."""

from __future__ import annotations

from collections.abc import Iterable

from care_rules.decision import Need, Settings, Step
from care_rules.gather import Gather
from care_rules.labels import Reading
from care_rules.limits import Tally
from care_rules.materials import Materials
from care_rules.process import WATER, Process
from care_rules.vocabulary import Facts

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

    __slots__ = ("facts", "gather", "materials", "needs", "process", "reading", "steps", "tally")

    def __init__(
        self,
        facts: Facts,
        reading: Reading,
        materials: Materials,
        gather: Gather,
        tally: Tally,
        process: Process,
        needs: tuple[Need, ...] = (),
    ) -> None:
        self.facts, self.reading, self.materials = facts, reading, materials
        self.gather, self.tally, self.process, self.needs = gather, tally, process, needs
        self.steps: list[Step] = []

    def add(
        self,
        step: str,
        says: str,
        because: Iterable[str],
        settings: Settings | None = None,
        station: str = "",
        *,
        noted: bool = True,
    ) -> None:
        keys = set(because)
        # A note on a bath speaks of water and detergent, and each note is said once.
        if noted and (step != "wash" or self.process.name in WATER):
            notes = self.gather.notes.get(step, {})
            fresh = sorted(text for text in notes if text not in says and not self._said(text))
            says = " ".join([says, *fresh])
            keys |= {notes[text] for text in fresh}
        where = station or _STATION[step]
        self.steps.append(Step(step, where, says, settings or {}, tuple(sorted(keys))))

    def why(self, *axes: int) -> set[str]:
        return {key for axis in axes for key in self.tally.why[axis]}

    def _said(self, text: str) -> bool:
        return any(text in step.says for step in self.steps)
