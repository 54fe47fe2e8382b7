"""The lists the counter chooses from: entries of the care tables, with the usual ones first.

A usual key that the tables do not hold is left out, so a table may change without this file.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping, Sequence

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from care_rules import catalogue
from care_rules.speech import each_language
from care_rules.vocabulary import Entry


class Chooser:
    """One list: find by name or key, group, and tell the usual entries apart."""

    def __init__(
        self,
        load: Callable[[], Sequence[Entry]],
        usual: Sequence[str] = (),
        *,
        only: Callable[[Entry], bool] = lambda entry: True,
        plain: Mapping[str, str | Promise] | None = None,
    ) -> None:
        self._load, self._usual, self._only, self._plain = load, usual, only, plain or {}

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
    def usual(self) -> list[Entry]:
        return [self.by_key[key] for key in self._usual if key in self.by_key]

    def name(self, key: str) -> str:
        """The name staff know; an unknown key is shown as it is."""
        if key in self._plain:
            return str(self._plain[key])
        entry = self.by_key.get(key)
        return entry.name if entry else key

    def nearest(self, words: str) -> list[str]:
        """Up to three names that look like the typed words."""
        names = {entry.name.casefold(): entry.name for entry in self.entries}
        return [names[near] for near in difflib.get_close_matches(words.casefold(), names, 3)]

    def key(self, words: str) -> str:
        """The key for a typed name or key; unknown words come back as they are.

        The engine refuses what it does not know and says so, which is better than losing it here.
        """
        plain = " ".join(words.split())
        return self._by_words.get(plain.casefold(), plain)


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
FIBRES = Chooser(lambda: catalogue.fibres())
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
HAZARD_QUESTIONS = {
    "body.blood": _("Blood or body fluid"),
    "body.vomit_faeces": _("Vomit, faeces, urine"),
    "body.healthcare_linen": _("From a care home or clinic"),
    "sharps.pocket": _("Needle or blade in it"),
    "fire.oil_selfheat": _("Oily towel or chef white"),
    "fire.drying_oil": _("Linseed oil, oil paint, wood stain"),
    "fire.fuel_clothes": _("Smells of petrol or thinner"),
    "fire.lighter": _("Lighter, matches, aerosol"),
    "fire.battery": _("Battery or phone in it"),
    "bedbug.seen": _("Live bugs or shed skins"),
    "moth": _("Moth holes or larvae"),
    "mould": _("Mould smell or specks"),
    "pest.field": _("Farm or spray clothes"),
    "pest.concentrate": _("Drenched with pesticide"),
    "dust.asbestos": _("Asbestos dust"),
    "dust.lead": _("Lead dust"),
    "dust.cadmium_silica": _("Other toxic dust"),
    "drug.residue": _("White powder, chemical smell"),
    "fr.workwear": _("Flame-resistant work wear"),
    "fr.fire_turnout": _("Firefighter's gear"),
    "hivis.washcount": _("High visibility"),
    "ppe.other": _("Other protective clothing"),
    "child.sleepwear": _("Child's sleepwear, flame resistant"),
    "service.assistance": _("Medical or assistance cover"),
    "allergy.residue": _("Baby, eczema or allergy"),
    "pet.hair_flea": _("Pet bedding"),
    "scabies_lice": _("Scabies or lice reported"),
}
"""Hazards a customer can tell of or a clerk can see, in words to ask with."""

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

COLOUR_NAMES = {
    "white": _("White"),
    "pastel": _("Pastel"),
    "bright": _("Bright"),
    "dark": _("Dark"),
    "mixed": _("Mixed, prints"),
}
CONSTRUCTION_NAMES = {
    "woven": _("Woven"),
    "knit": _("Knitted"),
    "filled": _("Filled, quilted"),
    "skin": _("Leather, fur"),
    "nonwoven": _("Felt, non-woven"),
}
LABEL_NAMES = {
    "read": _("Read"),
    "unreadable": _("Unreadable"),
    "missing": _("No label"),
    "not_needed": _("None needed"),
}
WEARER_NAMES = {
    "adult": _("Adult"),
    "child": _("Child"),
    "under_3": _("Child under 3"),
}
EDITION_NAMES = {"unknown": _("Not known"), "2012": _("2012 set"), "2023": _("2023 set")}
MARKET_NAMES = {
    "unknown": _("Not known"),
    "iso": _("Europe and ISO"),
    "us": _("United States"),
    "ca": _("Canada"),
    "jp": _("Japan"),
}
SYMBOL_GROUPS = {
    "wash": _("Wash"),
    "bleach": _("Bleach"),
    "tumble_dry": _("Tumble dry"),
    "natural_dry": _("Dry on line or flat"),
    "iron": _("Iron"),
    "dry_clean": _("Dry clean"),
    "wet_clean": _("Wet clean"),
}
BESIDE_OTHERS = ("us_do_not_wring",)
"""Marks that stand beside another one of their group, so they are no choice against it."""

MIXES: dict[str, tuple[object, tuple[tuple[str, int], ...]]] = {
    "cotton": (_("100 % cotton"), (("cotton", 100),)),
    "wool": (_("100 % wool"), (("wool", 100),)),
    "polyester": (_("100 % polyester"), (("polyester", 100),)),
    "polycotton": (_("65/35 polyester, cotton"), (("polyester", 65), ("cotton", 35))),
    "stretch": (_("98/2 cotton, elastane"), (("cotton", 98), ("elastane", 2))),
    "linen": (_("100 % linen"), (("linen", 100),)),
    "viscose": (_("100 % viscose"), (("viscose", 100),)),
    "silk": (_("100 % silk"), (("silk", 100),)),
    "woolmix": (_("80/20 wool, nylon"), (("wool", 80), ("polyamide", 20))),
    "acetate": (_("100 % acetate"), (("acetate", 100),)),
    "down": (_("100 % down"), (("down", 100),)),
    "wadding": (_("polyester wadding"), (("polyester_wadding", 100),)),
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
