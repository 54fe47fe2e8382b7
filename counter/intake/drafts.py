"""An intake under way as values: what is told of each piece, before anything is judged.

Stored drafts hold these fields as JSON; ``DraftPiece.read`` and ``as_json`` are the only places
that know it.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from decimal import Decimal
from typing import TypedDict

from care_rules import JsonMapping, JsonObject


class PieceChanges(TypedDict, total=False):
    """Fields of a draft piece that a form or a choice replaces."""

    facts: JsonObject
    inspection: dict[str, str]
    description: str
    set_mark: str
    weight_g: int | float | str
    photo: str
    accepted: dict[str, str]
    heard: dict[str, str]
    prices: dict[str, str]
    earlier: str
    washes_before: str
    washes_allowed: str
    overrides: dict[str, str]


@dataclass(frozen=True)
class DraftPiece:
    """What the counter was told of a piece; what can't be right is kept as it was typed.

    ``facts`` are JSON of the care contract. ``accepted`` has the name under each caution, by its
    key, and ``heard`` the words that name said yes to; None where a program names cautions by key
    alone and so says yes to the words of the decision. ``prices`` are amounts by line key, as
    typed or as sent. ``earlier`` is the number of the piece that the garment was at its visit
    before; the washes are counts as typed. ``overrides`` are rules that the owner recorded as
    lifted, with the seal of what was seen then; None where nothing was ever recorded.
    ``id`` never changes, so that two windows can't mix up pieces.
    """

    facts: JsonMapping = field(default_factory=dict)
    inspection: Mapping[str, str] = field(default_factory=dict)
    description: str = ""
    set_mark: str = ""
    weight_g: int | float | str = 0
    photo: str = ""
    accepted: Mapping[str, str] = field(default_factory=dict)
    heard: Mapping[str, str] | None = field(default_factory=dict)
    prices: Mapping[str, str | Decimal] = field(default_factory=dict)
    earlier: str = ""
    washes_before: str = ""
    washes_allowed: str = ""
    overrides: Mapping[str, str] | None = None
    id: str = ""

    @classmethod
    def blank(cls) -> DraftPiece:
        """A piece of which nothing is known, not even what is asked: the counter chooses that."""
        return cls(id=uuid.uuid4().hex[:12])

    @classmethod
    def read(cls, stored: JsonMapping) -> DraftPiece:
        """A stored piece; facts that nobody told (empty or null) are left out."""
        known = {name.name: stored[name.name] for name in fields(cls) if name.name in stored}
        told_facts = {
            name: fact for name, fact in stored["facts"].items() if fact not in ("", None)
        }
        return cls(**{**known, "facts": told_facts})

    @property
    def is_blank(self) -> bool:
        return replace(self, id="") == DraftPiece()

    def as_json(self) -> JsonObject:
        """The piece as it is stored."""
        stored = asdict(self)
        if self.overrides is None:
            del stored["overrides"]
        return stored


@dataclass(frozen=True)
class Draft:
    """All that is told of a ticket to come."""

    pieces: tuple[DraftPiece, ...] = ()
    rush: bool = False
    note: str = ""

    @classmethod
    def read(cls, pieces: Iterable[JsonMapping], rush: bool, note: str) -> Draft:
        """A stored draft."""
        return cls(tuple(DraftPiece.read(piece) for piece in pieces), rush, note)

    def find(self, piece_id: str) -> DraftPiece | None:
        return next((piece for piece in self.pieces if piece.id == piece_id), None)

    def stored_pieces(self) -> list[JsonObject]:
        return [piece.as_json() for piece in self.pieces]
