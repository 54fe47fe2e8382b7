"""What a piece weighs, dry: the scale first, then the shop's own figure, then the trade's."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _

from care_rules import catalogue
from tickets.errors import Refused
from tickets.models import KindWeight
from tickets.writing import atomic_write

HEAVIEST_G = 60_000
"""No piece of a counter weighs more; a figure above it is a slip of the finger."""


def trade_grams() -> dict[str, int]:
    """Kind -> grams by the care tables."""
    return {entry.key: entry.grams for entry in catalogue.kinds()}


def shop_grams() -> dict[str, int]:
    """Kind -> grams that the shop set for itself: one query."""
    return dict(KindWeight.objects.values_list("kind", "grams"))


def usual_grams(kind: str) -> int:
    """Grams of a piece of this kind that nobody weighed."""
    own = KindWeight.objects.filter(kind=kind).values_list("grams", flat=True).first()
    if own is not None:
        return own
    known = trade_grams()
    return known.get(kind, known["other"])


def set_weights(wanted: Mapping[str, int | None]) -> int:
    """Set the shop's weights; None goes back to the trade's figure. Returns how many changed.

    Pieces that are in the shop keep the weight they came with. All or nothing.
    """
    known = {entry.key: entry.name for entry in catalogue.kinds()}
    for kind, grams in wanted.items():
        if kind not in known:
            raise Refused(
                "unknown_kind",
                _("%(kind)s is no kind of piece.") % {"kind": kind},
                _("Choose one of the list."),
            )
        if grams is not None and not 1 <= grams <= HEAVIEST_G:
            raise Refused(
                "bad_weight",
                _("%(kind)s: %(grams)d g can't be its weight.")
                % {"kind": known[kind], "grams": grams},
                _("Write 1 to %(most)d grams, or leave it empty for the trade's figure.")
                % {"most": HEAVIEST_G},
            )
    changed = 0
    with atomic_write():
        own = shop_grams()
        for kind, grams in wanted.items():
            if grams == own.get(kind):
                continue
            changed += 1
            if grams is None:
                KindWeight.objects.filter(kind=kind).delete()
            else:
                KindWeight.objects.update_or_create(kind=kind, defaults={"grams": grams})
    return changed
