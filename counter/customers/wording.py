"""Where a ticket stands, as it is said to the customer who asks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import datetime

from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tickets.choices import Station
from tickets.models import Hold
from tickets.tracking.wording import in_short
from tickets.wording import shown_moment

LEVELS = {
    "late": gettext_lazy("Late"),
    "risk": gettext_lazy("At risk"),
    "today": gettext_lazy("Today"),
}
"""What the groups of the desk are called."""

_DOT_WORDS = {
    "ok": gettext_lazy("%(count)d ready"),
    "go": gettext_lazy("%(count)d under way"),
    "wait": gettext_lazy("%(count)d not begun"),
    "hold": gettext_lazy("%(count)d on hold"),
    "out": gettext_lazy("%(count)d at the partner"),
}


def closed_words(at: datetime | None) -> str:
    return _("Closed %(when)s") % {"when": shown_moment(at) if at else ""}


def ready_words(places: str) -> str:
    return _("Ready at %(places)s") % {"places": places}


def counted_words(dots: Iterable[tuple[str, int]]) -> str:
    """``2 ready, 1 on hold``: how many pieces there are of each dot."""
    return ", ".join(str(_DOT_WORDS[dot]) % {"count": count} for dot, count in dots)


def standing_words(
    ready: int, total: int, behind: Iterable[tuple[str, Station]], hold: Hold | None
) -> str:
    """``1 of 4 ready. 1 on hold (zip on order), ask Wed 2 Dec; 2 at Wash``: how many of the
    ``total`` pieces are ready, then where those ``behind`` are. ``hold``: the question due first.
    """
    counted = Counter((dot, "" if dot != "go" else str(station.label)) for dot, station in behind)
    parts = [_where(dot, place, count, total, hold) for (dot, place), count in counted.items()]
    where = capfirst("; ".join(parts))
    if not ready:
        return where
    share = _("%(ready)d of %(total)d ready.") % {"ready": ready, "total": total}
    return f"{share} {where}"


def _where(dot: str, place: str, count: int, total: int, hold: Hold | None) -> str:
    if total == 1:
        alone = {
            "go": _("at %(place)s") % {"place": place},
            "wait": _("not begun"),
            "hold": _("on hold"),
            "out": _("at the partner"),
        }
        words = alone[dot]
    elif dot == "go":
        words = _("%(count)d at %(place)s") % {"count": count, "place": place}
    else:
        words = str(_DOT_WORDS[dot]) % {"count": count}
    if dot != "hold" or hold is None:
        return words
    return _("%(words)s (%(reason)s), ask %(day)s") % {
        "words": words,
        "reason": in_short(hold.reason),
        "day": date_format(hold.ask_again_on, "D j M"),
    }


def customer_saved() -> str:
    return _("Saved. Read the number back to the customer.")
