"""Filters for the pages of the back room."""

from __future__ import annotations

from django import template

from tickets import wording

register = template.Library()


@register.filter
def symbol_name(key: str) -> str:
    """A label symbol in words, for those who do not see its drawing."""
    return wording.name_in("symbols", key)
