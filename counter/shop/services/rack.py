"""Rack places come into use and go out of it."""

from __future__ import annotations

import re

from django.utils.translation import gettext as _

from tickets.errors import Refused
from tickets.models import RackPlace
from tickets.writing import atomic_write

_PLACE = re.compile(r"[A-Z0-9]+(-[A-Z0-9]+)*")
_PLACE_RANGE = re.compile(r"([A-Z0-9-]*?)(\d+)\s*\.\.\s*\1(\d+)")
MOST_PLACES_AT_ONCE = 200


def add_places(text: str) -> list[str]:
    """Add places such as ``A1 A2`` or ``B1..B20``; returns the codes that are new or in use again.

    Raises ``Refused`` for a code that can't be one; then none is added.
    """
    codes = _read_places(text)
    if not codes:
        raise Refused("no_place", _("No place was written."), _("Write one, like A1 or B1..B20."))
    with atomic_write():
        used = set(
            RackPlace.objects.filter(code__in=codes, in_use=True).values_list("code", flat=True)
        )
        new = [code for code in codes if code not in used]
        for code in new:
            RackPlace.objects.update_or_create(code=code, defaults={"in_use": True})
    return new


def retire_place(place_id: int) -> RackPlace | None:
    """Take a place out of use; refused while pieces hang there. None when it does not exist."""
    with atomic_write():
        place = RackPlace.objects.select_for_update().filter(pk=place_id).first()
        if place is None:
            return None
        hanging = [piece.spoken for piece in place.pieces.order_by("code")[:5]]
        if hanging:
            raise Refused(
                "place_in_use",
                _("Place %(place)s still holds: %(pieces)s.")
                % {"place": place.code, "pieces": ", ".join(hanging)},
                _("Rack them at another place first."),
            )
        place.in_use = False
        place.save(update_fields=["in_use"])
    return place


def _read_places(text: str) -> list[str]:
    codes: list[str] = []
    plain = re.sub(r"\s*\.\.\s*", "..", text.upper())
    for word in re.split(r"[\s,;]+", plain):
        if span := _PLACE_RANGE.fullmatch(word):
            stem, first, last = span[1], int(span[2]), int(span[3])
            codes += [f"{stem}{number:0{len(span[2])}d}" for number in range(first, last + 1)]
        elif word:
            codes.append(word)
        if len(codes) > MOST_PLACES_AT_ONCE:
            raise Refused(
                "too_many_places",
                _("%(text)s makes more than %(most)d places.")
                % {"text": word, "most": MOST_PLACES_AT_ONCE},
                _("Add them in smaller groups."),
            )
    for code in codes:
        if not _PLACE.fullmatch(code) or len(code) > 8:
            raise Refused(
                "bad_place",
                _("%(code)s can't be a place.") % {"code": code},
                _("Use up to 8 capital letters, digits and hyphens, like A1 or RAIL-2."),
            )
    return list(dict.fromkeys(codes))
