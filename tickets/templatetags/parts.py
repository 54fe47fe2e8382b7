"""The parts that pages are written in. Every template has them without loading them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django import template
from django.contrib.auth.models import User

from tickets import wording
from tickets.tracking.wording import in_short, name_of

register = template.Library()
register.filter("step_name", wording.step_name)
register.filter("service_name", wording.service_name)
register.filter("look_of", wording.look_of)


@register.inclusion_tag("shared/_shape.html")
def shape(name: str) -> dict[str, str]:
    """A drawn shape of ``shapes.svg`` beside a word; it says nothing to those who hear the page."""
    return {"name": name}


@register.inclusion_tag("shared/_state.html")
def state(words: str, look: str = "", drawn: str = "") -> dict[str, str]:
    """A state: its word, then a shape of ``shapes.svg``, then the colour of its look."""
    return {"words": words, "look": look, "drawn": drawn}


@register.inclusion_tag("shared/_state.html")
def urgency(level: str) -> dict[str, str]:
    """How a piece or ticket stands to its promise: ``late``, ``risk``, ``due`` or ``done``."""
    return state(str(wording.URGENCY_WORDS[level]), *wording.URGENCY_LOOKS[level])


@register.inclusion_tag("shared/_dots.html")
def dots(states: Sequence[str], words: str) -> dict[str, Any]:
    """The pieces of a ticket, a button each: ``ok`` ready, ``go`` under way, ``wait`` not begun,
    ``hold`` on hold, ``out`` at the partner; ``words`` say the same to those who hear the page."""
    return {"states": states, "words": words}


@register.inclusion_tag("shared/_way.html")
def way(done: int, total: int, words: str) -> dict[str, Any]:
    """The way of a piece, a stitch each step: so many done, the next under way."""
    steps = ["done" if step < done else "now" if step == done else "" for step in range(total)]
    return {"steps": steps, "words": words}


@register.inclusion_tag("shared/_fill.html")
def fill(percent: int, words: str) -> dict[str, Any]:
    """How full a drum or bag is: a bar of so many percent, and ``words`` that say the same."""
    return {"percent": min(percent, 100), "words": words}


@register.inclusion_tag("shared/_strip.html")
def never(words: str) -> dict[str, str]:
    """The danger strip of a card: one sentence that begins with "Never"."""
    return {"words": words, "look": "never", "drawn": "stop"}


@register.inclusion_tag("shared/_strip.html")
def say(words: str) -> dict[str, str]:
    """A strip that asks for care without being a danger."""
    return {"words": words, "look": "say", "drawn": "bang"}


@register.inclusion_tag("shared/_briefly.html")
def briefly(words: str) -> dict[str, str]:
    """Why something stopped, in a few words; the whole of it opens by a tap."""
    return {"short": in_short(words), "whole": words}


@register.filter
def person(user: User) -> str:
    """The full name, or the name to sign in with."""
    return name_of(user)


@register.filter
def moment(value: datetime | None) -> str:
    """A moment in shop time: ``Tue 4 Mar, 14:00``; nothing for None."""
    return wording.shown_moment(value) if value else ""


@register.filter
def level_word(level: str) -> str:
    """The word before a caution of this level."""
    return str(wording.LEVEL_WORDS.get(level, level))


@register.filter
def level_shape(level: str) -> str:
    """The drawn shape beside a caution of this level."""
    return wording.LEVEL_SHAPES.get(level, "info")


@register.filter
def px(length: float) -> str:
    """A measure of a drawing, to a tenth of its unit."""
    return f"{length:.1f}"
