"""What care decisions and the rules behind them are called on pages; limits are said by
``care_rules.wording``."""

from __future__ import annotations

from django.utils.translation import gettext_lazy

PROCESSES = {
    "machine_wash": gettext_lazy("Machine wash"),
    "hand_wash": gettext_lazy("Hand wash"),
    "wet_clean": gettext_lazy("Wet clean"),
    "dry_clean": gettext_lazy("Dry clean"),
    "surface_clean": gettext_lazy("Surface clean"),
    "specialist": gettext_lazy("Leather and fur specialist"),
    "none": gettext_lazy("No cleaning"),
}
PLACES = {"in_house": gettext_lazy("in house"), "send_out": gettext_lazy("sent out")}
STRENGTH_WORDS = {
    "physical": gettext_lazy("firm: never lifted"),
    "usual": gettext_lazy("careful practice: an owner may lift it up to the label"),
    "default": gettext_lazy("only while the label says nothing about it"),
}
STATUS_WORDS = {
    "read": gettext_lazy("read in the source"),
    "practice": gettext_lazy("common practice, no published source"),
    "memory": gettext_lazy("from memory: the source is still to be checked"),
}
TABLE_WORDS = {
    "symbols": gettext_lazy("label symbol"),
    "ceilings": gettext_lazy("label"),
    "readings": gettext_lazy("label symbol"),
    "terms": gettext_lazy("words on the label"),
    "label_rules": gettext_lazy("label"),
    "composition_rules": gettext_lazy("fibres on the label"),
    "fibres": gettext_lazy("fibre"),
    "colours": gettext_lazy("colour"),
    "trims": gettext_lazy("trim or cloth"),
    "constructions": gettext_lazy("made how"),
    "kinds": gettext_lazy("kind of piece"),
    "stains": gettext_lazy("stain"),
    "agents": gettext_lazy("spotting agent"),
    "mixtures": gettext_lazy("mixture"),
    "hazards": gettext_lazy("hazard"),
    "damage": gettext_lazy("damage"),
    "work": gettext_lazy("bench work"),
    "notices": gettext_lazy("rule of the shop floor"),
    "house": gettext_lazy("house rule"),
}
