"""Sides and places of a garment in words."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tickets.workroom.marks import ConditionMark, place_at
from tickets.workroom.sides import BACK, FRONT, SIDES, Outline

SIDE_WORDS = {FRONT: gettext_lazy("front"), BACK: gettext_lazy("back")}
_SHOE_SIDES = {FRONT: gettext_lazy("outer sides"), BACK: gettext_lazy("soles")}

MIDDLE_PLACES: dict[str, str | Promise] = {
    "belt": gettext_lazy("belt"),
    "blade": gettext_lazy("blade"),
    "button_band": gettext_lazy("button band"),
    "clasp": gettext_lazy("clasp"),
    "collar": gettext_lazy("collar"),
    "crotch": gettext_lazy("crotch"),
    "fly": gettext_lazy("fly"),
    "handle": gettext_lazy("handle"),
    "hat_band": gettext_lazy("hat band"),
    "heading": gettext_lazy("heading"),
    "hem": gettext_lazy("hem"),
    "hood": gettext_lazy("hood"),
    "keeper": gettext_lazy("keeper loop"),
    "knot": gettext_lazy("knot"),
    "narrow_end": gettext_lazy("narrow end"),
    "neck_loop": gettext_lazy("neck"),
    "neckband": gettext_lazy("neckband"),
    "neckline": gettext_lazy("neckline"),
    "point": gettext_lazy("point"),
    "train": gettext_lazy("train"),
    "vent": gettext_lazy("vent"),
    "waistband": gettext_lazy("waistband"),
    "yoke": gettext_lazy("yoke"),
    "zip": gettext_lazy("zip"),
}

HANDED_PLACES: dict[str, tuple[str | Promise, str | Promise]] = {
    "bib": (gettext_lazy("left of bib"), gettext_lazy("right of bib")),
    "bodice": (gettext_lazy("left bodice"), gettext_lazy("right bodice")),
    "breast_pocket": (gettext_lazy("left breast pocket"), gettext_lazy("right breast pocket")),
    "brim": (gettext_lazy("left brim"), gettext_lazy("right brim")),
    "chest": (gettext_lazy("left chest"), gettext_lazy("right chest")),
    "collar": (gettext_lazy("left collar"), gettext_lazy("right collar")),
    "crown": (gettext_lazy("left crown"), gettext_lazy("right crown")),
    "cuff": (gettext_lazy("left cuff"), gettext_lazy("right cuff")),
    "elbow": (gettext_lazy("left elbow"), gettext_lazy("right elbow")),
    "end": (gettext_lazy("left end"), gettext_lazy("right end")),
    "flap": (gettext_lazy("left of flap"), gettext_lazy("right of flap")),
    "forepart": (gettext_lazy("left forepart"), gettext_lazy("right forepart")),
    "fringe": (gettext_lazy("left fringe"), gettext_lazy("right fringe")),
    "heel": (gettext_lazy("left heel"), gettext_lazy("right heel")),
    "hem": (gettext_lazy("left hem"), gettext_lazy("right hem")),
    "hip": (gettext_lazy("left hip"), gettext_lazy("right hip")),
    "knee": (gettext_lazy("left knee"), gettext_lazy("right knee")),
    "lapel": (gettext_lazy("left lapel"), gettext_lazy("right lapel")),
    "leg": (gettext_lazy("left leg"), gettext_lazy("right leg")),
    "leg_hem": (gettext_lazy("left leg hem"), gettext_lazy("right leg hem")),
    "lower_back": (gettext_lazy("lower left"), gettext_lazy("lower right")),
    "lower_front": (gettext_lazy("lower left"), gettext_lazy("lower right")),
    "lower_leg": (gettext_lazy("left lower leg"), gettext_lazy("right lower leg")),
    "lower_part": (gettext_lazy("lower left"), gettext_lazy("lower right")),
    "lower_side": (gettext_lazy("lower left"), gettext_lazy("lower right")),
    "middle_part": (gettext_lazy("middle left"), gettext_lazy("middle right")),
    "neckline": (gettext_lazy("left neckline"), gettext_lazy("right neckline")),
    "pleat": (gettext_lazy("left pleat"), gettext_lazy("right pleat")),
    "pocket": (gettext_lazy("left pocket"), gettext_lazy("right pocket")),
    "seat": (gettext_lazy("left seat"), gettext_lazy("right seat")),
    "shoulder": (gettext_lazy("left shoulder"), gettext_lazy("right shoulder")),
    "skirt": (gettext_lazy("left of skirt"), gettext_lazy("right of skirt")),
    "sleeve": (gettext_lazy("left sleeve"), gettext_lazy("right sleeve")),
    "sleeve_hem": (gettext_lazy("left sleeve hem"), gettext_lazy("right sleeve hem")),
    "sole_edge": (gettext_lazy("left sole edge"), gettext_lazy("right sole edge")),
    "sole_waist": (gettext_lazy("left waist of sole"), gettext_lazy("right waist of sole")),
    "strap": (gettext_lazy("left strap"), gettext_lazy("right strap")),
    "thigh": (gettext_lazy("left thigh"), gettext_lazy("right thigh")),
    "tie_end": (gettext_lazy("left tie"), gettext_lazy("right tie")),
    "toe": (gettext_lazy("left toe"), gettext_lazy("right toe")),
    "trouser_pocket": (gettext_lazy("left trouser pocket"), gettext_lazy("right trouser pocket")),
    "underarm": (gettext_lazy("left underarm"), gettext_lazy("right underarm")),
    "upper_back": (gettext_lazy("upper left"), gettext_lazy("upper right")),
    "upper_part": (gettext_lazy("upper left"), gettext_lazy("upper right")),
    "upper_side": (gettext_lazy("upper left"), gettext_lazy("upper right")),
    "vamp": (gettext_lazy("left vamp"), gettext_lazy("right vamp")),
    "waist": (gettext_lazy("left waist"), gettext_lazy("right waist")),
}
"""Place -> its words at the left and at the right."""


def side_words(outline: Outline, side: str) -> str:
    """``front``, ``back``, or what the two sides of a pair of shoes are."""
    return str((_SHOE_SIDES if outline.key == "shoes" else SIDE_WORDS)[side])


def place_name(place: str) -> str:
    """A place without its side: ``left cuff``, ``collar``."""
    hand, _handed, base = place.partition("_")
    if hand in ("left", "right"):
        return str(HANDED_PLACES[base][hand == "right"])
    return str(MIDDLE_PLACES[place])


def place_words(outline: Outline, side: str, place: str | None) -> str:
    """A side with its place: ``front, left cuff``; the side alone where there is none."""
    words = side_words(outline, side)
    if place is None:
        return words
    return _("%(side)s, %(place)s") % {"side": words, "place": place_name(place)}


def condition_words(outline: Outline, mark: ConditionMark) -> str:
    """What was seen and where, as it is heard: ``Red wine, front, wearer's left chest``."""
    place = place_at(outline, mark.side, mark.x, mark.y)
    parts = {"seen": mark.says, "side": side_words(outline, mark.side)}
    if place is None:
        return _("%(seen)s, %(side)s") % parts
    parts["place"] = place_name(place)
    if outline.worn and place.startswith(("left_", "right_")):
        return _("%(seen)s, %(side)s, wearer's %(place)s") % parts
    return _("%(seen)s, %(side)s, %(place)s") % parts


def outline_words(
    outline: Outline, kind: str, sides: Iterable[str], marks: Iterable[ConditionMark]
) -> str:
    """What a drawing shows: its marks on these sides, or the kind and its sides without any."""
    shown = tuple(sides)
    seen = [condition_words(outline, mark) for mark in marks if mark.side in shown]
    if seen:
        return "; ".join(seen)
    if shown == SIDES:
        return _("%(kind)s, front and back") % {"kind": capfirst(kind)}
    return _("%(kind)s, %(side)s") % {"kind": capfirst(kind), "side": side_words(outline, *shown)}
