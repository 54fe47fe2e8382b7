"""What is told of the washes of a piece at intake, and what its last visit adds to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from care_rules import Decision
from counter.intake.drafts import DraftPiece
from counter.intake.faults import PieceFault
from counter.intake.wording.corrections import no_washes
from tickets.garments import washes
from tickets.garments.returning import Garment
from tickets.garments.wording import coming_wash, washes_done

LEAST = {"washes_before": 0, "washes_allowed": 1}
"""Field of a draft piece -> the smallest number that can be told."""


@dataclass(frozen=True)
class ToldWashes:
    """``earlier`` is the garment at its visit before; ``wrong`` holds what is no number."""

    earlier: Garment | None = None
    before: int | None = None
    allowed: int | None = None
    wrong: tuple[str, ...] = ()

    @property
    def count(self) -> washes.WashCount:
        last = self.earlier.count if self.earlier else None
        return washes.at_intake(last, self.before, self.allowed)

    @property
    def faults(self) -> list[PieceFault]:
        """One for each count that is no number that can be."""
        return [PieceFault("washes", *no_washes(text, washes.MOST_WASHES)) for text in self.wrong]

    def words(self, decision: Decision) -> str:
        """The wash to come where the piece is to be cleaned, else the washes so far."""
        comes = any(washes.cleans(step.step, step.settings) for step in decision.steps)
        return coming_wash(self.count) if comes else washes_done(self.count)


def read_told(piece: DraftPiece, earlier: Mapping[str, Garment]) -> ToldWashes:
    """Read the typed counts of a draft piece; ``earlier`` are garments by number."""
    numbers: dict[str, int] = {}
    wrong = []
    for name, least in LEAST.items():
        text = str(getattr(piece, name))
        if text.isascii() and text.isdigit() and least <= int(text) <= washes.MOST_WASHES:
            numbers[name] = int(text)
        elif text:
            wrong.append(text)
    return ToldWashes(
        earlier.get(piece.earlier),
        numbers.get("washes_before"),
        numbers.get("washes_allowed"),
        tuple(wrong),
    )
