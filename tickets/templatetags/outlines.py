"""Outlines of garments with what was seen on them, as pages draw them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypedDict

from django import template

from tickets.wording import name_in
from tickets.workroom.marks import CORE, RADIUS, ConditionMark
from tickets.workroom.outlines import outline_of
from tickets.workroom.sides import EDGE, FOLD, HEIGHT, SEAM, SIDES, WIDTH, Outline
from tickets.workroom.wording import outline_words, side_words

register = template.Library()

LOOKS = {EDGE: "cut", SEAM: "cut-thin", FOLD: "cut-fold"}
"""Kind of stroke -> its class."""

_BETWEEN, _CAPTION = 8, 20
"""Room between two sides, and under them for their words."""


class DrawnSide(TypedDict):
    shift: float
    words: str
    strokes: list[tuple[str, str]]
    marks: list[ConditionMark]


class OutlineDrawing(TypedDict):
    width: float
    height: float
    words: str
    captions: bool
    sides: list[DrawnSide]
    radius: float
    core: float
    middle: float
    foot: float


@register.inclusion_tag("tickets/workroom/_outline.html")
def outline(kind: str, side: str, marks: Iterable[ConditionMark] = ()) -> OutlineDrawing:
    """One side of a kind of piece, ``front`` or ``back``, with the marks that lie on it."""
    return _drawing(kind, (side,), tuple(marks))


@register.inclusion_tag("tickets/workroom/_outline.html")
def outline_map(kind: str, marks: Iterable[ConditionMark] = ()) -> OutlineDrawing:
    """Front and back side by side, each with its word under it."""
    return _drawing(kind, SIDES, tuple(marks))


def _drawing(kind: str, sides: tuple[str, ...], marks: tuple[ConditionMark, ...]) -> OutlineDrawing:
    garment = outline_of(kind)
    captions = len(sides) > 1
    return {
        "width": len(sides) * (WIDTH + _BETWEEN) - _BETWEEN,
        "height": HEIGHT + (_CAPTION if captions else 0),
        "words": outline_words(garment, name_in("kinds", kind), sides, marks),
        "captions": captions,
        "sides": [
            _drawn_side(garment, side, number * (WIDTH + _BETWEEN), marks)
            for number, side in enumerate(sides)
        ],
        "radius": RADIUS,
        "core": CORE,
        "middle": WIDTH / 2,
        "foot": HEIGHT + _CAPTION - 4,
    }


def _drawn_side(
    garment: Outline, side: str, shift: float, marks: tuple[ConditionMark, ...]
) -> DrawnSide:
    return {
        "shift": shift,
        "words": side_words(garment, side),
        "strokes": [(LOOKS[stroke.kind], stroke.data) for stroke in garment.side(side).strokes],
        "marks": [mark for mark in marks if mark.side == side],
    }
