"""Words for the owner's figures."""

from __future__ import annotations

from datetime import timedelta

from django import template
from django.utils.formats import number_format

from counter.owner.now import Band
from counter.owner.wording import age_words, in_hours, percent_words
from counter.owner.wording.findings import short_time

register = template.Library()


@register.filter
def percent(value: float | None, decimals: int = 0) -> str:
    """A share in percent; a dash while there was nothing to count."""
    if value is None:
        return "–"
    return percent_words(value, decimals)


@register.filter
def took(time: timedelta | None) -> str:
    """A time in hours or days; a dash while there was nothing to time."""
    return in_hours(time) or "–"


@register.filter
def one_decimal(value: float | None) -> str:
    return "–" if value is None else number_format(round(value, 1), 1)


@register.filter
def age(value: Band) -> str:
    return age_words(value.first, value.last)


@register.filter
def minutes(value: float) -> str:
    """Minutes of work as hours and minutes."""
    return short_time(value)


@register.filter
def hundredth(length: float) -> str:
    """A percentage of a drawing's width, to a hundredth."""
    return f"{length:.2f}%"
