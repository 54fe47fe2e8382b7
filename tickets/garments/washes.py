"""How often a garment was washed, over all the visits at which it came.

Protective clothing is certified for the count of cleaning cycles on its label, so each one done
here is counted from the moves, a redo too, and added to what the customer tells was done before.
The software counts and warns; whether a garment still protects is for its employer and maker.
Source: rule ``hivis.washcount`` of the care tables (EN ISO 20471).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from care_rules import Caution, Decision, Settings
from tickets.choices import Station

COUNTED = ("hivis.washcount",)
"""Cautions of the care tables that make a piece a counted one."""

TESTED_AFTER = 5
"""Washes before testing where a label gives no count (EN ISO 20471, rule ``hivis.washcount``)."""

MOST_WASHES = 1000
"""The largest number taken for either count: above it a slip of the finger is likelier."""

CLEANING = (Station.WASH, Station.SEND_OUT)
_NO_BATH = "surface_clean"
_SENT_TO_CLEAN = ("dry_clean", "wet_clean")


@dataclass(frozen=True)
class WashCount:
    """Cleaning cycles of a garment.

    ``done`` counts those done here and those told; ``told`` is false where nobody knows how many
    it had before its first visit, so that ``done`` is the least. ``allowed`` is the count that
    its label certifies, None where none is known.
    """

    done: int = 0
    allowed: int | None = None
    told: bool = False

    @property
    def coming(self) -> WashCount:
        """The count when the next wash is done."""
        return replace(self, done=self.done + 1)

    @property
    def due(self) -> bool:
        """The count on the label is reached."""
        return self.allowed is not None and self.done == self.allowed

    @property
    def over(self) -> bool:
        """The count on the label is passed."""
        return self.allowed is not None and self.done > self.allowed

    @property
    def state(self) -> str:
        """``within``, ``due``, ``over`` or ``no_count``: the label gives none that is known."""
        if self.allowed is None:
            return "no_count"
        return "over" if self.over else "due" if self.due else "within"


def is_counted(decision: Decision) -> bool:
    """Whether the care tables want the washes of such a piece counted."""
    return _counting_caution(decision) is not None


def cleans(step: str, settings: Settings) -> bool:
    """Whether a step of a route is a cleaning cycle; wiping the surface is none."""
    if step == "send_out":
        return settings.get("to") in _SENT_TO_CLEAN
    return step == "wash" and settings.get("process") != _NO_BATH


def at_intake(earlier: WashCount | None, before: int | None, allowed: int | None) -> WashCount:
    """The count of a piece that is taken in now, from its last visit and what is told of it."""
    last = earlier or WashCount(told=before is not None)
    return WashCount(last.done + (before or 0), allowed or last.allowed, last.told)


def with_wash_caution(decision: Decision, count: WashCount, named: Iterable[str] = ()) -> Decision:
    """The decision with a caution where the coming wash reaches or passes the label's count.

    Passing it is a hold: it needs a yes by name (``named`` are the cautions that have one).
    """
    base = _counting_caution(decision)
    if base is None or not any(cleans(step.step, step.settings) for step in decision.steps):
        return decision
    caution = _wash_caution(base, count.coming)
    if caution is None:
        return decision
    outcome = decision.outcome
    if caution.level == "hold" and caution.key not in set(named) and outcome == "accept":
        outcome = "ask"
    return replace(decision, outcome=outcome, cautions=(*decision.cautions, caution))


def _counting_caution(decision: Decision) -> Caution | None:
    return next((caution for caution in decision.cautions if caution.key in COUNTED), None)


def _wash_caution(base: Caution, coming: WashCount) -> Caution | None:
    figures = {"n": coming.done, "allowed": coming.allowed}
    if coming.over:
        level = "hold"
        says = _(
            "This is wash %(n)d and its label certifies %(allowed)d: its protection is no longer "
            "certified."
        )
        do = _(
            "Ask the employer or the maker before it is washed or worn as protection, and write "
            "down who says yes."
        )
    elif coming.due:
        level = "caution"
        says = _("This is wash %(n)d of %(allowed)d: the last one that its label certifies.")
        do = _("Tell the customer, and to ask the employer about a new one.")
    elif coming.allowed is None and coming.done >= TESTED_AFTER:
        level = "caution"
        says = _(
            "This is wash %(n)d and no count is known from its label; without one, such clothing "
            "is tested after %(tested)d washes."
        )
        do = _("Look for the count on the label, else ask the employer or the maker.")
    else:
        return None
    says = says % {**figures, "tested": TESTED_AFTER}
    return replace(base, key=f"{base.key}.label_count", level=level, says=says, do=do)
