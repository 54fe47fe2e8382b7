"""The parts that pages are written in. Every template has them without loading them."""

from __future__ import annotations

from datetime import datetime

from django import template
from django.contrib.auth.models import User

from tickets import wording
from tickets.tracking.wording import name_of

register = template.Library()
register.filter("step_name", wording.step_name)
register.filter("service_name", wording.service_name)


@register.inclusion_tag("shared/_shape.html")
def shape(name: str) -> dict[str, str]:
    """A drawn shape of ``shapes.svg`` beside a word; it says nothing to those who hear the page."""
    return {"name": name}


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
