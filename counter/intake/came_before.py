"""A customer's garment that comes again: what of its last visit stands for the new one.

What the garment is stays true: kind, cloth, label, trims. What was seen on it, asked for, told of
that one visit or said yes to is asked anew.
"""

from __future__ import annotations

import copy

from care_rules import catalogue
from counter.intake.drafts import PieceChanges
from counter.intake.photos import copy_photo
from tickets.garments.returning import Garment

KEPT = (
    "kind",
    "construction",
    "colour",
    "wearer",
    "components",
    "label",
    "trims",
)
"""Facts that describe the garment itself."""

LASTING = frozenset({"hivis", "fr", "ppe", "child"})
"""Topics of hazards that belong to the garment and not to what happened to it."""


def taken_over(garment: Garment) -> PieceChanges:
    """The fields of a draft piece that a garment brings along, with a photo of its own."""
    piece = garment.piece
    facts = {name: copy.deepcopy(piece.facts[name]) for name in KEPT if piece.facts.get(name)}
    topics = {entry.key: entry.group for entry in catalogue.hazards()}
    if lasting := [key for key in piece.facts.get("hazards", ()) if topics.get(key) in LASTING]:
        facts["hazards"] = lasting
    return {
        "facts": facts,
        "description": piece.description,
        "set_mark": piece.set_mark,
        "photo": copy_photo(piece.photo.name or ""),
        "earlier": piece.code,
        "washes_allowed": str(garment.count.allowed or ""),
    }
