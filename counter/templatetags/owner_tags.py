"""Words for the owner's figures."""

from __future__ import annotations

from datetime import timedelta

from django import template
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from counter.owner.day import in_hours
from counter.owner.lists import band_words
from counter.owner.now import Band

register = template.Library()


@register.filter
def percent(value: float | None, decimals: int = 0) -> str:
    """A share in percent; a dash while there was nothing to count."""
    if value is None:
        return "–"
    return _("%(value)s %%") % {"value": number_format(round(value, decimals), decimals)}


@register.filter
def took(time: timedelta | None) -> str:
    """A time in hours or days; a dash while there was nothing to time."""
    return in_hours(time) or "–"


@register.filter
def one_decimal(value: float | None) -> str:
    return "–" if value is None else number_format(round(value, 1), 1)


@register.filter
def band(value: Band) -> str:
    return band_words(value)
