"""The words of the care engine and the frozen facts that go in.

Field names and words are those of the decision contract.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from care_rules.provenance import Provenance

#: What a soil may ask of the treatment.
NEEDS = ("wash_min_c", "wash_times", "isolate", "freeze", "heat_first")
#: Who takes what no shop treats, the most particular first.
SPECIALISTS = ("licensed", "conservator", "shoe", "fur", "hat", "leather", "carpet")
#: What the look over a kind may ask besides stains and damage.
ASKABLE = ("pockets", "fastenings")
LEVELS = ("info", "caution", "hold", "refuse")
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
    What a piece is called (``id``) is no fact about it: like garments are equal.
    """

    id: str = field(default="", compare=False)
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
class Rule:
    """One table row as a reader sees it. ``limits`` is (path, value, strength) for each limit."""

    key: str
    table: str
    says: str
    source: str
    clause: str
    provenance: Provenance
    strength: str
    limits: tuple[tuple[str, str, str], ...] = ()

    @property
    def status(self) -> str:
        """How sure the row is: read, practice, memory, or partly."""
        return self.provenance.status


@dataclass(frozen=True, slots=True)
class Entry:
    """One choice of a chooser. ``minutes`` and ``order`` for work.

    For kinds ``grams``, ``has`` (what of ``ASKABLE`` there is to look at), ``parts`` that it may
    have and ``fibres`` of its usual shell; for kinds and fibres ``also``: what else it is called,
    which is searched and never shown.
    """

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
    has: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    fibres: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
