"""The lists the counter chooses from: entries of the care tables, with the usual ones first.

A usual key that the tables do not hold is left out, so a table may change without this file.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping, Sequence

from django.utils.functional import Promise

from care_rules import catalogue
from care_rules.speech import each_language
from care_rules.vocabulary import Entry
from counter.intake.wording.choice_labels import HAZARD_QUESTIONS

_MOST_NAMES = 8


def _bare(name: str) -> str:
    """A name as words alone."""
    return name.casefold().replace(",", " ")


class Chooser:
    """One list: find by name or key, group, and tell the usual entries apart."""

    def __init__(
        self,
        load: Callable[[], Sequence[Entry]],
        usual: Sequence[str] = (),
        *,
        only: Callable[[Entry], bool] = lambda entry: True,
        plain: Mapping[str, str | Promise] | None = None,
        takes_other_words: bool = True,
    ) -> None:
        """``takes_other_words``: another word for one entry alone stands for it."""
        self._load, self._usual, self._only, self._plain = load, usual, only, plain or {}
        self._takes_other_words = takes_other_words

    @property
    @each_language
    def entries(self) -> list[Entry]:
        return [entry for entry in self._load() if self._only(entry)]

    @property
    @each_language
    def by_key(self) -> dict[str, Entry]:
        return {entry.key: entry for entry in self._load()}

    @property
    @each_language
    def _by_words(self) -> dict[str, str]:
        words = {entry.name.casefold(): entry.key for entry in reversed(self.entries)}
        return words | {entry.key.casefold(): entry.key for entry in self.entries}

    @property
    @each_language
    def _by_other_words(self) -> dict[str, list[Entry]]:
        """What else people call an entry, with every entry that is called so."""
        entries: dict[str, list[Entry]] = {}
        for entry in self.entries:
            for word in entry.also:
                entries.setdefault(word.casefold(), []).append(entry)
        return entries

    @property
    @each_language
    def usual(self) -> list[Entry]:
        return [self.by_key[key] for key in self._usual if key in self.by_key]

    def name(self, key: str) -> str:
        """The name staff know; an unknown key is shown as it is."""
        if key in self._plain:
            return str(self._plain[key])
        entry = self.by_key.get(key)
        return entry.name if entry else key

    def nearest(self, words: str) -> list[str]:
        """The names that hold the typed word, or else up to three that look like it or that
        people call so."""
        typed = " ".join(words.casefold().split())
        holding = [entry.name for entry in self.entries if f" {typed} " in f" {_bare(entry.name)} "]
        if holding and typed:
            return holding[:_MOST_NAMES]
        names = {entry.name.casefold(): [entry.name] for entry in self.entries}
        for word, entries in self._by_other_words.items():
            names.setdefault(word, []).extend(entry.name for entry in entries)
        near = difflib.get_close_matches(typed, names, 3)
        return [*dict.fromkeys(name for word in near for name in names[word])][:3]

    def key(self, words: str) -> str:
        """The key for a typed name or key, or for another word that means one entry alone;
        unknown words come back as they are.

        The engine refuses what it does not know and says so, which is better than losing it here.
        """
        plain = " ".join(words.split())
        if known := self._by_words.get(plain.casefold()):
            return known
        if not self._takes_other_words:
            return plain
        entries = self._by_other_words.get(plain.casefold(), ())
        return entries[0].key if len(entries) == 1 else plain


KINDS = Chooser(
    lambda: catalogue.kinds(),
    (
        "shirt_cotton",
        "shirt_polycotton",
        "blouse_light",
        "sweater_wool",
        "trousers_wool",
        "trousers_chino",
        "jeans",
        "suit_jacket",
        "dress_summer",
        "skirt_light",
        "coat_wool",
        "duvet_single",
    ),
)
FIBRES = Chooser(lambda: catalogue.fibres(), takes_other_words=False)
"""A word of a label stays as it was read: a rule may say how such a word is to be taken."""
SYMBOLS = Chooser(lambda: catalogue.symbols())
TERMS = Chooser(
    lambda: catalogue.terms(),
    (
        "dryclean only",
        "hand wash",
        "wash separately / separately",
        "wash inside out",
        "no wring / do not wring",
        "do not tumble dry",
        "dry flat",
        "line dry in the shade",
        "use press cloth",
    ),
)
TRIMS = Chooser(
    lambda: catalogue.trims(),
    (
        "metal_zip",
        "buttons_plastic",
        "buttons_fragile",
        "embroidery",
        "lace",
        "sequins",
        "beads",
        "print_plastisol",
        "lining",
        "shoulder_pads",
        "leather_trim",
        "fur_trim",
        "pleats_permanent",
        "velvet_cut_pile",
    ),
)
STAINS = Chooser(
    lambda: catalogue.stains(),
    (
        "red wine",
        "coffee, tea black",
        "cooking oil",
        "blood",
        "ballpoint ink",
        "grass",
        "collar and cuff soil",
        "perspiration",
        "lipstick",
        "chocolate",
        "unknown",
    ),
)
_TOLD = frozenset(
    {
        "allergy",
        "bedbug",
        "body",
        "child",
        "customer",
        "drug",
        "dust",
        "fire",
        "fr",
        "freezer",
        "hivis",
        "moth",
        "mould",
        "pest",
        "pet",
        "ppe",
        "scabies lice",
        "service",
        "sharps",
    }
)
HAZARDS = Chooser(
    lambda: catalogue.hazards(),
    tuple(HAZARD_QUESTIONS),
    only=lambda entry: entry.group in _TOLD,
    plain=HAZARD_QUESTIONS,
)
WORK = Chooser(
    lambda: catalogue.work(),
    (
        "trouser_hem_plain",
        "jeans_hem_original",
        "button_replace",
        "seam_restitch",
        "hem_drop_repair",
        "trouser_zip_replace",
        "skirt_hem_straight",
        "dress_hem_shorten",
        "shirt_sleeve_cuff",
        "trouser_waist_take_in",
    ),
)

DAMAGE = Chooser(lambda: catalogue.damages())

BESIDE_OTHERS = ("us_do_not_wring",)
"""Marks that stand beside another one of their group, so they are no choice against it."""

MIXES: dict[str, tuple[tuple[str, int], ...]] = {
    "cotton": (("cotton", 100),),
    "wool": (("wool", 100),),
    "polyester": (("polyester", 100),),
    "polycotton": (("polyester", 65), ("cotton", 35)),
    "stretch": (("cotton", 98), ("elastane", 2)),
    "linen": (("linen", 100),),
    "viscose": (("viscose", 100),),
    "silk": (("silk", 100),),
    "woolmix": (("wool", 80), ("polyamide", 20)),
    "acetate": (("acetate", 100),),
    "down": (("down", 100),),
    "wadding": (("polyester_wadding", 100),),
}
"""Fibre mixes put in with one tap."""

MIXES_OF_PART = {
    "shell": (
        "cotton",
        "wool",
        "polyester",
        "polycotton",
        "stretch",
        "linen",
        "viscose",
        "silk",
        "woolmix",
    ),
    "lining": ("polyester", "viscose", "acetate", "silk", "cotton"),
    "filling": ("down", "wadding", "wool", "cotton"),
}
"""Mixes offered for a part; other parts are typed."""


def mix_of(key: str) -> tuple[tuple[str, int], ...]:
    """The fibres of a mix: one of the usual mixes, or a fibre by itself; none for another key."""
    return MIXES.get(key) or (((key, 100),) if key in FIBRES.by_key else ())


def mixes_for(part: str, kind: str) -> list[str]:
    """The mixes offered for a part, with what a shell of this kind is usually of in front."""
    mixes = list(MIXES_OF_PART.get(part, ()))
    entry = KINDS.by_key.get(kind)
    if part != "shell" or entry is None or not entry.fibres:
        return mixes
    fibres = set(entry.fibres)
    named = [key for key, mix in MIXES.items() if {fibre for fibre, _percent in mix} == fibres]
    usual = named[0] if named else entry.fibres[0]
    return [usual, *(key for key in mixes if key != usual)]
