"""The labels of what the counter may choose for a piece: taps and lists by their keys."""

from __future__ import annotations

import re

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

HAZARD_QUESTIONS = {
    "body.blood": gettext_lazy("Blood or body fluid"),
    "body.vomit_faeces": gettext_lazy("Vomit, faeces, urine"),
    "body.healthcare_linen": gettext_lazy("From a care home or clinic"),
    "sharps.pocket": gettext_lazy("Needle or blade in it"),
    "fire.oil_selfheat": gettext_lazy("Oily towel or chef white"),
    "fire.drying_oil": gettext_lazy("Linseed oil, oil paint, wood stain"),
    "fire.fuel_clothes": gettext_lazy("Smells of petrol or thinner"),
    "fire.lighter": gettext_lazy("Lighter, matches, aerosol"),
    "fire.battery": gettext_lazy("Battery or phone in it"),
    "bedbug.seen": gettext_lazy("Live bugs or shed skins"),
    "moth": gettext_lazy("Moth holes or larvae"),
    "mould": gettext_lazy("Mould smell or specks"),
    "pest.field": gettext_lazy("Farm or spray clothes"),
    "pest.concentrate": gettext_lazy("Drenched with pesticide"),
    "dust.asbestos": gettext_lazy("Asbestos dust"),
    "dust.lead": gettext_lazy("Lead dust"),
    "dust.cadmium_silica": gettext_lazy("Other toxic dust"),
    "drug.residue": gettext_lazy("White powder, chemical smell"),
    "fr.workwear": gettext_lazy("Flame-resistant work wear"),
    "fr.fire_turnout": gettext_lazy("Firefighter's gear"),
    "hivis.washcount": gettext_lazy("High visibility"),
    "ppe.other": gettext_lazy("Other protective clothing"),
    "child.sleepwear": gettext_lazy("Child's sleepwear, flame resistant"),
    "service.assistance": gettext_lazy("Medical or assistance cover"),
    "allergy.residue": gettext_lazy("Baby, eczema or allergy"),
    "pet.hair_flea": gettext_lazy("Pet bedding"),
    "scabies_lice": gettext_lazy("Scabies or lice reported"),
}
"""Hazards a customer can tell of or a clerk can see, in words to ask with."""
COLOUR_NAMES = {
    "white": gettext_lazy("White"),
    "pastel": gettext_lazy("Pastel"),
    "bright": gettext_lazy("Bright"),
    "dark": gettext_lazy("Dark"),
    "mixed": gettext_lazy("Mixed, prints"),
}
CONSTRUCTION_NAMES = {
    "woven": gettext_lazy("Woven"),
    "knit": gettext_lazy("Knitted"),
    "filled": gettext_lazy("Filled, quilted"),
    "skin": gettext_lazy("Leather, fur"),
    "nonwoven": gettext_lazy("Felt, non-woven"),
}
LABEL_NAMES = {
    "read": gettext_lazy("Read"),
    "unreadable": gettext_lazy("Unreadable"),
    "missing": gettext_lazy("No label"),
    "not_needed": gettext_lazy("None needed"),
}
WEARER_NAMES = {
    "adult": gettext_lazy("Adult"),
    "child": gettext_lazy("Child"),
    "under_3": gettext_lazy("Child under 3"),
}
EDITION_NAMES = {
    "unknown": gettext_lazy("Not known"),
    "2012": gettext_lazy("2012 set"),
    "2023": gettext_lazy("2023 set"),
}
MARKET_NAMES = {
    "unknown": gettext_lazy("Not known"),
    "iso": gettext_lazy("Europe and ISO"),
    "us": gettext_lazy("United States"),
    "ca": gettext_lazy("Canada"),
    "jp": gettext_lazy("Japan"),
}
SYMBOL_GROUPS = {
    "wash": gettext_lazy("Wash"),
    "bleach": gettext_lazy("Bleach"),
    "tumble_dry": gettext_lazy("Tumble dry"),
    "natural_dry": gettext_lazy("Dry on line or flat"),
    "iron": gettext_lazy("Iron"),
    "dry_clean": gettext_lazy("Dry clean"),
    "wet_clean": gettext_lazy("Wet clean"),
}
MIX_NAMES = {
    "cotton": gettext_lazy("100 % cotton"),
    "wool": gettext_lazy("100 % wool"),
    "polyester": gettext_lazy("100 % polyester"),
    "polycotton": gettext_lazy("65/35 polyester, cotton"),
    "stretch": gettext_lazy("98/2 cotton, elastane"),
    "linen": gettext_lazy("100 % linen"),
    "viscose": gettext_lazy("100 % viscose"),
    "silk": gettext_lazy("100 % silk"),
    "woolmix": gettext_lazy("80/20 wool, nylon"),
    "acetate": gettext_lazy("100 % acetate"),
    "down": gettext_lazy("100 % down"),
    "wadding": gettext_lazy("polyester wadding"),
}
"""Fibre mixes put in with one tap."""

_SHORT = {
    "bleach_any": gettext_lazy("any"),
    "bleach_oxygen_only": gettext_lazy("oxygen"),
    "tumble_normal": gettext_lazy("2 dots"),
    "us_tumble_medium": gettext_lazy("2 dots"),
    "tumble_low": gettext_lazy("1 dot"),
    "us_tumble_no_heat": gettext_lazy("no heat"),
    "iron_200": gettext_lazy("3 dots"),
    "iron_150": gettext_lazy("2 dots"),
    "iron_110": gettext_lazy("1 dot"),
    "iron_120_no_steam": gettext_lazy("no steam"),
    "hand_wash": gettext_lazy("hand"),
    "hand_wash_30": gettext_lazy("hand"),
}
_SHORT_PARTS = (
    ("flat", gettext_lazy("flat")),
    ("line", gettext_lazy("line")),
    ("dry_clean_p", "P"),
    ("dry_clean_f", "F"),
    ("dry_clean_a", "A"),
    ("wet_clean", "W"),
)


def short_symbol(key: str) -> str:
    """A symbol in one word for the strip of the label; empty for the key of none."""
    if not key:
        return _("none")
    if key.startswith("no_"):
        return _("never")
    if key in _SHORT:
        return str(_SHORT[key])
    if degrees := re.search(r"wash_(\d+)", key):
        return degrees[1]
    return next((str(word) for part, word in _SHORT_PARTS if part in key), "")
