"""The content of one run, kept so that adding a piece is cheap."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tickets.loads.tables import Model, Tables

NEVER = 1 << 60


class Drum:
    """The content of one run on a machine of one model."""

    __slots__ = (
        "below",
        "born",
        "bulk",
        "circles",
        "company",
        "content",
        "end",
        "first_due",
        "mask",
        "minutes",
        "model",
        "pieces",
        "programme",
        "share",
        "space",
        "under",
    )

    def __init__(self, model: Model, born: int = 0) -> None:
        self.model = model
        #: the round that made it, and so may change it
        self.born = born
        #: kind -> number of pieces
        self.content: dict[int, int] = {}
        self.first_due = NEVER
        #: minute at which the run ends in the lines that are being worked on
        self.end = 0
        self.pieces = self.bulk = self.below = self.minutes = 0
        #: room that is still free; below 0 where the content takes too much
        self.space = model.room
        self.share = 0.0
        self.programme = -1
        self.mask = self.company = -1
        #: bits of the circles inside
        self.circles = 0
        #: programme -> room and loss of the content under it, worked out when asked
        self.under: dict[int, tuple[int, int]] | None = None

    def copy(self, born: int) -> Drum:
        twin = Drum.__new__(Drum)
        twin.model, twin.born = self.model, born
        twin.content = self.content.copy()
        twin.first_due, twin.minutes, twin.end = self.first_due, self.minutes, self.end
        twin.pieces, twin.space, twin.bulk = self.pieces, self.space, self.bulk
        twin.below, twin.programme = self.below, self.programme
        twin.mask, twin.company, twin.share = self.mask, self.company, self.share
        twin.circles, twin.under = self.circles, None
        return twin

    def late(self, finish: int, due: Sequence[int]) -> int:
        """Minutes of lateness, summed over pieces, when the run ends at ``finish``.

        ``due`` tells the due minute of each kind.
        """
        if finish <= self.first_due:
            return 0
        late = 0
        for kind, number in self.content.items():
            if due[kind] < finish:
                late += number * (finish - due[kind])
        return late

    def fits(self, kind: int, bulk: int, left: int) -> int:
        """How many of ``left`` pieces of a kind fit as the run stands, each of that bulk."""
        model = self.model
        room = min(self.space // model.taken[self.programme][kind], left, model.most - self.pieces)
        return min(room, (model.filled_room - self.bulk) // bulk) if bulk else room

    def add(self, tables: Tables, kind: int, number: int) -> None:
        """Put pieces in; the caller has made sure that they fit and may share."""
        model = self.model
        bit, company, due, bulk, share = tables.facts[kind]
        content = self.content
        content[kind] = content[kind] + number if kind in content else number
        if due < self.first_due:
            self.first_due = due
        self.pieces += number
        self.share += number * share
        if bulk:
            self.bulk += number * bulk
        self.circles |= bit
        self.company &= company
        self.mask = mask = self.mask & model.allows[kind]
        programme = self.programme
        if programme >= 0 and mask >> programme & 1:
            # A programme that is still allowed is still the strongest.
            self.space -= number * model.taken[programme][kind]
            self.below += number * model.below[programme][kind]
            self.under = None
            return
        programme = first_bit(mask)
        before = self.under and self.under.get(programme)
        self.under = None
        if before:
            # Worked out when the place was weighed: only the new pieces are missing.
            self.programme, self.minutes = programme, model.minutes[programme]
            taken, below = before
            self.space = model.room - taken - number * model.taken[programme][kind]
            self.below = below + number * model.below[programme][kind]
        else:
            self.set_programme(programme)

    def join(self, tables: Tables, kind: int, number: int) -> None:
        """``add`` where it is known that the programme stays: the usual case, and the quickest."""
        content = self.content
        bit, company, due, bulk, share = tables.facts[kind]
        if kind in content:
            # Its like is in already: company, programme and first due minute stay.
            content[kind] += number
        else:
            content[kind] = number
            if due < self.first_due:
                self.first_due = due
            self.company &= company
            self.circles |= bit
            self.mask &= self.model.allows[kind]
        model, programme = self.model, self.programme
        self.under = None
        self.pieces += number
        self.share += number * share
        self.space -= number * model.taken[programme][kind]
        self.below += number * model.below[programme][kind]
        if bulk:
            self.bulk += number * bulk

    def fill(self, tables: Tables, content: Iterable[tuple[int, int]]) -> None:
        """``add`` for an empty drum and many kinds, working out the programme but once."""
        allows, facts, inside = self.model.allows, tables.facts, self.content
        mask = together = -1
        pieces = bulks = circles = 0
        shares, first_due = 0.0, NEVER
        for kind, number in content:
            bit, company, due, bulk, share = facts[kind]
            inside[kind] = number
            if due < first_due:
                first_due = due
            pieces += number
            shares += number * share
            bulks += number * bulk
            circles |= bit
            together &= company
            mask &= allows[kind]
        self.pieces, self.bulk, self.share, self.first_due = pieces, bulks, shares, first_due
        self.circles, self.company, self.mask = circles, together, mask
        if inside:
            self.set_programme(first_bit(mask))

    def set_programme(self, programme: int) -> None:
        self.programme = programme
        self.minutes = self.model.minutes[programme]
        taken, self.below = self.if_run_at(programme)
        self.space = self.model.room - taken

    def if_run_at(self, programme: int) -> tuple[int, int]:
        """Room that the content takes, and what it loses, under another programme."""
        if self.under is None:
            self.under = {}
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
        mask &= model.allows[kind]
        if not mask or not drum.company & tables.facts[kind][0]:
            return None
        drum.add(tables, kind, 1)
    full = drum.space < 0 or drum.bulk > model.filled_room or drum.pieces > model.most
    return None if full else drum


Lines = list[list[Drum]]
"""For each machine its runs in order."""


def first_bit(bits: int) -> int:
    """The place of the lowest bit that is set."""
    return (bits & -bits).bit_length() - 1
