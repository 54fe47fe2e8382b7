"""What speaks on a piece while it is being decided: rules, warnings and crew notes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from care_rules.decision import Caution
from care_rules.limits import COMMON, Pair, Tally
from care_rules.rows import Row
from care_rules.tables import Book
from care_rules.vocabulary import LEVELS

_RANK = {level: number for number, level in enumerate(LEVELS)}


#: What a caution says, or what puts it into words once somebody reads it.
Text = str | Callable[[], str]


class Raised:
    """A caution as it was raised, not yet in words. Never changed: pieces share a label's."""

    __slots__ = ("because", "do", "level", "row", "texts")

    def __init__(
        self, row: Row, level: str, because: tuple[str, ...], texts: tuple[Text, ...], do: str
    ) -> None:
        self.row, self.level, self.because, self.texts, self.do = row, level, because, texts, do

    def said(self, key: str) -> Caution:
        """The caution in words; several reasons say each its own sentence."""
        texts = [text if isinstance(text, str) else text() for text in self.texts]
        says = texts[0] if len(texts) == 1 else " ".join(sorted(set(texts)))
        cells = self.row.cells
        return Caution(
            key,
            self.level,
            self.row.scope,
            says,
            self.do or cells.get("do", ""),
            cells.get("defer_to", ""),
            self.because,
        )


class Gather:
    """Collects the rules of one piece; ``tally`` then combines them into limits."""

    __slots__ = (
        "bars",
        "begun",
        "cautions",
        "house",
        "notes",
        "rules",
        "special",
        "stated",
        "tables",
    )

    def __init__(self, tables: Book) -> None:
        self.tables = tables
        #: rule key, what it limits, and its row
        self.rules: list[tuple[str, tuple[Pair, ...], Row]] = []
        self.cautions: dict[str, Raised] = {}
        #: step name to sentences for the crew, each with the rule that asks for it
        self.notes: dict[str, dict[str, str]] = {}
        #: services that a hazard forbids, with the hazard's key
        self.bars: dict[str, str] = {}
        #: rule key to row of the house rules that spoke
        self.house: dict[str, Row] = {}
        #: "specialist" or "surface" to the keys of the rows that only such cleaning serves
        self.special: dict[str, set[str]] = {}
        self.stated = 0
        #: how many of the rules stand on the label, and those combined
        self.begun: tuple[int, Tally] | None = None

    def copy(self) -> Gather:
        """The same, to be added to while this one stays as it is."""
        twin = Gather(self.tables)
        twin.rules = self.rules.copy()
        twin.cautions = self.cautions.copy()
        twin.notes = {step: texts.copy() for step, texts in self.notes.items()}
        twin.bars = self.bars.copy()
        twin.house = self.house.copy()
        twin.special = {only: keys.copy() for only, keys in self.special.items()}
        twin.stated, twin.begun = self.stated, self.begun
        return twin

    def label_ends(self, stated: int) -> None:
        """All that the label says is in; it speaks of the groups whose bits are in ``stated``."""
        self.stated = stated
        self.begun = len(self.rules), self.tally()

    def of_label(self) -> Gather:
        """A new gathering with the rules of the label alone."""
        twin = Gather(self.tables)
        count = self.begun[0] if self.begun else 0
        twin.stated, twin.begun = self.stated, self.begun
        for key, pairs, row in self.rules[:count]:
            twin.rules.append((key, pairs, row))
            if row.only:
                twin.special.setdefault(row.only, set()).add(key)
        return twin

    def take(
        self, row: Row, pairs: tuple[Pair, ...], also: str = "", *, settled: bool = False
    ) -> None:
        """Let a row bind with these pairs; ``also`` names a second rule that led to it.

        ``settled``: the label itself names a way for what the row would give to a specialist.
        """
        self.rules.append((row.key, pairs, row))
        if also:
            self.rules.append((also, pairs, row))
        if row.only and not settled:
            self.special.setdefault(row.only, set()).add(row.key)
        for step, text in row.notes:
            self.notes.setdefault(step, {})[text] = row.key

    def gives_way(self, ceiling: Sequence[int]) -> dict[str, list[int]]:
        """Rule key to the axes on which its ``common`` figure yields to what the label allows.

        ``ceiling`` has the severity that the label's own symbols set, out of reach where silent.
        """
        yielding: dict[str, list[int]] = {}
        for key, pairs, row in self.rules:
            if row.common:
                for axis, severity, softness in pairs:
                    if softness == COMMON and severity > ceiling[axis]:
                        yielding.setdefault(key, []).append(axis)
        return yielding

    def warn(
        self,
        key: str,
        says: Text = "",
        because: tuple[str, ...] = (),
        level: str = "",
        do: str = "",
    ) -> None:
        """Raise the caution of a rule row; given twice, the graver level and all reasons stay."""
        row = self.tables.rules.get(key) or self.house[key]
        level = level or row.level or "info"
        reasons = because or (key,)
        texts: tuple[Text, ...] = (says or row.says,)
        held = self.cautions.get(key)
        if held is not None:
            reasons = tuple(sorted({*held.because, *reasons}))
            if _RANK[held.level] > _RANK[level]:
                level = held.level
            texts = (*held.texts, *texts)
        self.cautions[key] = Raised(row, level, reasons, texts, do)

    def hazard(self, key: str, because: str = "") -> None:
        """Take a hazard in, told by the customer or following from another rule."""
        row = self.tables["hazards"][key]
        self.warn(key, because=tuple(sorted({key, because} - {""})))
        for held, _, _ in self.rules:
            if held == key:
                return
        self.take(row, row.pairs)
        for service in row.bars:
            self.bars[service] = key
        for follows in row.hazards:
            self.hazard(follows, key)

    def tally(self, lifted: tuple[str, ...] = (), without_special: bool = False) -> Tally:
        """All rules combined; ``without_special`` leaves out those that name a specialist."""
        tally, rules = Tally(), self.rules
        if self.begun and not lifted and not without_special:
            count, begun = self.begun
            tally, rules = begun.copy(), rules[count:]
        stated = self.stated
        add = tally.add
        for key, pairs, row in rules:
            if not (without_special and row.only):
                add(key, pairs, stated, key in lifted)
        return tally

    def sorted_cautions(self) -> tuple[Caution, ...]:
        """Gravest first, then by cost and station, then by key; each in words."""
        raised = sorted(
            self.cautions.items(),
            key=lambda pair: (-_RANK[pair[1].level], pair[1].row.place, pair[0]),
        )
        return tuple(caution.said(key) for key, caution in raised)
