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
LEVEL_WORDS = {
    "info": gettext_lazy("Note"),
    "caution": gettext_lazy("Caution"),
    "hold": gettext_lazy("Needs a yes"),
    "refuse": gettext_lazy("Refused"),
}
LEVEL_SHAPES = {"info": "info", "caution": "bang", "hold": "pause", "refuse": "stop"}
STEP_NAMES = {
    "check": gettext_lazy("Check"),
    "remove_trim": gettext_lazy("Take off trims"),
    "stabilise": gettext_lazy("Make safe"),
    "test": gettext_lazy("Test"),
    "pre_spot": gettext_lazy("Spot"),
    "wash": gettext_lazy("Clean"),
    "rinse": gettext_lazy("Rinse"),
    "wet_check": gettext_lazy("Wet check"),
    "dry": gettext_lazy("Dry"),
    "cool_down": gettext_lazy("Cool down"),
    "unpick": gettext_lazy("Unpick"),
    "mend": gettext_lazy("Mend or alter"),
    "press": gettext_lazy("Press"),
    "inspect": gettext_lazy("Inspect"),
    "assemble": gettext_lazy("Assemble"),
    "send_out": gettext_lazy("Send out"),
}
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
