"""The words of the care engine: frozen facts in, a frozen decision out.

Temperatures are in degrees Celsius throughout: of the water for ``wash``, of the sole plate
for ``iron``. Field names and words are those of the decision contract.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

LEVELS = ("info", "caution", "hold", "refuse")
STRENGTHS = ("default", "usual", "physical")
STATUSES = ("read", "practice", "memory")
GROUPS = ("wash", "bleach", "tumble_dry", "natural_dry", "iron", "dry_clean", "wet_clean")
CONSTRUCTIONS = ("woven", "knit", "nonwoven", "skin", "filled", "unknown")
COLOURS = ("white", "pastel", "bright", "dark", "mixed", "unknown")
PARTS = ("shell", "lining", "filling", "coating", "trim", "other")
WEARERS = ("adult", "child", "under_3", "unknown")
LABEL_STATES = ("read", "unreadable", "missing", "not_needed")
EDITIONS = ("2012", "2023", "unknown")
MARKETS = ("iso", "us", "ca", "jp", "unknown")
SERVICES = ("clean", "press", "mend", "alter")
DAMAGES = ("loose_button", "open_seam", "tear", "hole", "worn_cloth")
SEND_OUT = ("dry_clean", "wet_clean", "leather")
SOLVENTS = ("P", "F")


@dataclass(frozen=True, slots=True)
class FibreShare:
    """One fibre of a part. ``percent`` is the share by weight, or None when not stated.

    ``written`` is the word or code of the label where one was given in place of a key; ``fibre``
    is then the first of what it may mean.
    """

    fibre: str
    percent: float | None = None
    written: str = ""


@dataclass(frozen=True, slots=True)
class Component:
    """One part of the piece and its fibres; no fibres means that nobody knows them."""

    part: str
    fibres: tuple[FibreShare, ...] = ()


@dataclass(frozen=True, slots=True)
class Label:
    """What the care label shows, as far as it could be read."""

    state: str = "missing"
    edition: str = "unknown"
    market: str = "unknown"
    symbols: tuple[str, ...] = ()
    terms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ShopAbilities:
    """What the shop does in house (``wet_cleaning``, ``dry_cleaning``) and what it sends out."""

    wet_cleaning: bool = False
    dry_cleaning: tuple[str, ...] = ()
    send_out: tuple[str, ...] = ()


#: Taken when the facts say nothing of the shop: a counter with washers, and trade plants to
#: send other work to.
USUAL_SHOP = ShopAbilities(send_out=SEND_OUT)


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything told about one piece. Empty means "not stated", never "fine".

    ``overrides`` holds rule keys whose ``usual`` limits the owner has recorded as lifted for
    this piece (the maker's finish is known); they lift a limit up to the label, never past it.
    """

    id: str = ""
    kind: str = "other"
    construction: str = "unknown"
    colour: str = "unknown"
    colour_tested: bool = False
    components: tuple[Component, ...] = ()
    label: Label = field(default_factory=Label)
    trims: tuple[str, ...] = ()
    stains: tuple[str, ...] = ()
    damage: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    services: tuple[str, ...] = ("clean",)
    work: tuple[str, ...] = ()
    wearer: str = "unknown"
    shop: ShopAbilities = USUAL_SHOP
    accepted: tuple[str, ...] = ()
    overrides: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning: how grave, about the whole piece or one treatment, what to do, whom to heed."""

    key: str
    level: str
    scope: str
    says: str
    do: str = ""
    defer_to: str = ""
    because: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {
            "key": self.key,
            "level": self.level,
            "scope": self.scope,
            "says": self.says,
            "do": self.do,
            "defer_to": self.defer_to,
            "because": list(self.because),
        }


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the route: where, with which settings, said in one plain sentence."""

    step: str
    station: str
    says: str
    settings: Mapping[str, Any] = field(default_factory=dict)
    because: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {
            "step": self.step,
            "station": self.station,
            "settings": dict(self.settings),
            "says": self.says,
            "because": list(self.because),
        }


@dataclass(frozen=True, slots=True)
class Decision:
    """What may be done with the piece, how it goes through the shop, and why."""

    id: str
    tables: str
    outcome: str
    process: str
    where: str
    limits: Mapping[str, Any]
    load: Mapping[str, Any]
    steps: tuple[Step, ...]
    cautions: tuple[Caution, ...]
    because: Mapping[str, tuple[str, ...]]

    def as_json(self) -> dict[str, Any]:
        """The decision as plain JSON values, shaped as the contract says."""
        return {
            "id": self.id,
            "tables": self.tables,
            "outcome": self.outcome,
            "process": self.process,
            "where": self.where,
            "limits": {k: dict(v) if isinstance(v, Mapping) else v for k, v in self.limits.items()},
            "load": dict(self.load),
            "steps": [step.as_json() for step in self.steps],
            "cautions": [caution.as_json() for caution in self.cautions],
            "because": {path: list(keys) for path, keys in self.because.items()},
        }


@dataclass(frozen=True, slots=True)
class Rule:
    """One table row as a reader sees it. ``limits`` is (path, value, strength) for each limit."""

    key: str
    table: str
    says: str
    source: str
    clause: str
    status: str
    strength: str
    limits: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One choice of a chooser. ``grams`` for kinds, ``minutes`` and ``order`` for work."""

    key: str
    group: str
    name: str
    says: str
    source: str
    status: str
    geometry: str = ""
    grams: int = 0
    minutes: int = 0
    order: str = ""
