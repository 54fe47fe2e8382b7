"""What can go wrong before a decision: a bad table row or bad facts."""

from __future__ import annotations

from dataclasses import dataclass


class TableError(ValueError):
    """A rule table cannot be used. The text names file, row, value and cure."""

    def __init__(self, file: str, row: int | str, value: object, cure: str) -> None:
        self.file, self.row, self.value, self.cure = file, row, value, cure
        super().__init__(f"{file} row {row}, value {value!r}: {cure}")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with the facts: where, what stood there, and how to mend it."""

    field: str
    value: object
    cure: str


class FactsError(ValueError):
    """Facts that cannot be decided on. ``faults`` holds every fault found, not just the first."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{f.field}: {f.value!r}: {f.cure}" for f in faults))


class DecisionError(ValueError):
    """A stored decision that cannot be read back. ``place`` names the field, such as
    ``steps[2].settings``."""

    def __init__(self, place: str, cure: str) -> None:
        self.place, self.cure = place, cure
        super().__init__(f"{place}: {cure}")
