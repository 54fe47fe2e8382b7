"""The parts that pages are written in. Every template has them without loading them."""

from __future__ import annotations

from django import template
from django.contrib.auth.models import User

from tickets.tracking.wording import name_of

register = template.Library()


@register.inclusion_tag("shared/_shape.html")
def shape(name: str) -> dict[str, str]:
    """A drawn shape of ``shapes.svg`` beside a word; it says nothing to those who hear the page."""
    return {"name": name}


@register.filter
def person(user: User) -> str:
    """The full name, or the name to sign in with."""
    return name_of(user)


@register.filter
def px(length: float) -> str:
    """A measure of a drawing, to a tenth of its unit."""
    return f"{length:.1f}"
