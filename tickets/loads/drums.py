"""The content of one run, kept so that adding a piece is cheap."""

from __future__ import annotations

from collections.abc import Sequence

from tickets.loads.tables import Model, Tables

NEVER = 1 << 60


class Drum:
    """The content of one run on a machine of one model."""

    __slots__ = (
        "below",
        "born",
        "bulk",
        "company",
        "content",
        "dues",
        "first_due",
        "mask",
        "model",
        "pieces",
        "programme",
        "share",
        "sorts",
        "taken",
        "under",
    )

    def __init__(self, model: Model, born: int = 0) -> None:
        self.model = model
        #: the round that made it, and so may change it
        self.born = born
        self.content: dict[int, int] = {}
        self.dues: dict[int, int] = {}
        self.first_due = NEVER
        self.pieces = self.taken = self.bulk = self.below = 0
        self.share = 0.0
        self.programme = -1
        self.mask = self.company = -1
        self.sorts = 0
        #: programme -> room and loss of the content under it, worked out when asked
        self.under: dict[int, tuple[int, int]] = {}

    def copy(self, born: int) -> Drum:
        twin = Drum.__new__(Drum)
        twin.model, twin.born = self.model, born
        twin.content = self.content.copy()
        twin.dues = self.dues.copy()
        twin.first_due = self.first_due
        twin.pieces, twin.taken, twin.bulk = self.pieces, self.taken, self.bulk
        twin.below, twin.programme = self.below, self.programme
        twin.mask, twin.company, twin.share = self.mask, self.company, self.share
        twin.sorts, twin.under = self.sorts, self.under
        return twin

    def late(self, finish: int) -> int:
        """Minutes of lateness, summed over pieces, when the run ends at ``finish``."""
        if finish <= self.first_due:
            return 0
        return sum(n * (finish - due) for due, n in self.dues.items() if due < finish)

    def add(self, tables: Tables, kind: int, number: int) -> None:
        """Put pieces in; the caller has made sure that they fit and may share."""
        model, sort, due = self.model, tables.sort[kind], tables.due[kind]
        self.content[kind] = self.content.get(kind, 0) + number
        self.dues[due] = self.dues.get(due, 0) + number
        self.first_due = min(self.first_due, due)
        self.pieces += number
        self.bulk += number * tables.bulk[kind]
        self.share += number * tables.share[kind]
        self.company &= tables.company[sort]
        self.mask &= model.allowed[sort]
        self.sorts |= 1 << sort
        self.under = {}
        programme = first_bit(self.mask)
        if programme == self.programme:
            self.taken += number * model.taken[programme][kind]
            self.below += number * model.below[programme][kind]
        else:
            self._set_programme(programme)

    def _set_programme(self, programme: int) -> None:
        self.programme = programme
        self.taken, self.below = self.if_run_at(programme)

    def if_run_at(self, programme: int) -> tuple[int, int]:
        """Room that the content takes, and what it loses, under another programme."""
        found = self.under.get(programme)
        if found is None:
            taken, below = self.model.taken[programme], self.model.below[programme]
            room = loss = 0
            for kind, number in self.content.items():
                room += number * taken[kind]
                loss += number * below[kind]
            found = self.under[programme] = (room, loss)
        return found

    def on(self, tables: Tables, model: Model) -> Drum | None:
        """The same pieces on a machine of another model; None where they do not fit."""
        if model is self.model:
            return self
        kinds = [kind for kind, number in self.content.items() for _ in range(number)]
        return drum_of(tables, model, kinds)


def drum_of(tables: Tables, model: Model, kinds: Sequence[int]) -> Drum | None:
    """A drum of these kinds (one for each piece); None where they may not share or do not fit."""
    drum = Drum(model)
    mask = -1
    for kind in kinds:
        mask &= model.allowed[tables.sort[kind]]
        if not mask or not drum.company >> tables.sort[kind] & 1:
            return None
        drum.add(tables, kind, 1)
    full = drum.taken > model.room or drum.bulk > model.filled_room or drum.pieces > model.most
    return None if full else drum


Lines = list[list[Drum]]
"""For each machine its runs in order."""


def first_bit(bits: int) -> int:
    """The place of the lowest bit that is set."""
    return (bits & -bits).bit_length() - 1
