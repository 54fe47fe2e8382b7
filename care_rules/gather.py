"""What speaks on a piece while it is being decided: rules, warnings and crew notes."""

from __future__ import annotations

from care_rules.decision import Caution
from care_rules.limits import Pair, Tally
from care_rules.rows import Row
from care_rules.tables import Book
from care_rules.vocabulary import LEVELS

_RANK = {level: number for number, level in enumerate(LEVELS)}


class Gather:
    """Collects the rules of one piece; ``tally`` then combines them into limits."""

    __slots__ = ("bars", "cautions", "house", "notes", "rules", "said", "stated", "tables")

    def __init__(self, tables: Book) -> None:
        self.tables = tables
        #: rule key, what it limits, and its row
        self.rules: list[tuple[str, tuple[Pair, ...], Row]] = []
        self.cautions: dict[str, Caution] = {}
        #: caution key to its sentences, where it has more than one
        self.said: dict[str, set[str]] = {}
        #: step name to sentences for the crew, each with the rule that asks for it
        self.notes: dict[str, dict[str, str]] = {}
        #: services that a hazard forbids, with the hazard's key
        self.bars: dict[str, str] = {}
        #: rule key to row of the house rules that spoke
        self.house: dict[str, Row] = {}
        self.stated = 0

    def take(self, row: Row, pairs: tuple[Pair, ...], also: str = "") -> None:
        """Let a row bind with these pairs; ``also`` names a second rule that led to it."""
        self.rules.append((row.key, pairs, row))
        if also:
            self.rules.append((also, pairs, row))
        for step, text in row.notes:
            self.notes.setdefault(step, {})[text] = row.key

    def warn(
        self,
        key: str,
        says: str = "",
        because: tuple[str, ...] = (),
        level: str = "",
        do: str = "",
    ) -> None:
        """Raise the caution of a rule row; given twice, the graver level and all reasons stay."""
        row = self.tables.rules.get(key) or self.house[key]
        cells = row.cells
        level = level or row.level or "info"
        reasons = because or (key,)
        text = says or row.says
        held = self.cautions.get(key)
        if held is not None:
            reasons = tuple(sorted({*held.because, *reasons}))
            if _RANK[held.level] > _RANK[level]:
                level = held.level
            said = self.said.setdefault(key, {held.says})
            said.add(text)
            text = " ".join(sorted(said))
        self.cautions[key] = Caution(
            key,
            level,
            row.scope,
            text,
            do or cells.get("do", ""),
            cells.get("defer_to", ""),
            reasons,
        )

    def hazard(self, key: str, because: str = "") -> None:
        """Take a hazard in, told by the customer or following from another rule."""
        row = self.tables["hazards"][key]
        self.warn(key, because=tuple(sorted({key, because} - {""})))
        for held, _, _ in self.rules:
            if held == key:
                return
        self.take(row, row.pairs)
        for service in row.listed("bars"):
            self.bars[service] = key
        for follows in row.hazards:
            self.hazard(follows, key)

    def tally(self, lifted: tuple[str, ...] = (), without_special: bool = False) -> Tally:
        """All rules combined; ``without_special`` leaves out those that name a specialist."""
        tally = Tally()
        stated = self.stated
        add = tally.add
        for key, pairs, row in self.rules:
            if not (without_special and row.only):
                add(key, pairs, stated, key in lifted)
        return tally

    def sorted_cautions(self) -> tuple[Caution, ...]:
        """Gravest first, then by key."""
        return tuple(sorted(self.cautions.values(), key=lambda c: (-_RANK[c.level], c.key)))
