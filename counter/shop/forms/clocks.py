"""Hours and days as they are typed: in the shop's own fields, the same in every browser."""

from __future__ import annotations

from datetime import time
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from tickets.shop.calendar import business_day

# "%H" before "%H%M": else 12 would be two past one.
_FORMATS = ("%H:%M", "%H.%M", "%H", "%H%M", "%H:%M:%S")


class ClockField(forms.TimeField):
    """An hour of the day: ``8``, ``830``, ``8.30`` or ``08:30``."""

    def __init__(self, **options: Any) -> None:
        attrs = {"inputmode": "decimal", "autocomplete": "off", "maxlength": 8}
        widget = forms.TimeInput(attrs=attrs, format="%H:%M")
        super().__init__(input_formats=_FORMATS, widget=widget, **options)


class DayInput(forms.SelectDateWidget):
    """A day by three lists: of days, months and the years to come."""

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        this_year = business_day().year
        self.years = range(this_year, this_year + 3)
        context = super().get_context(name, value, attrs)
        parts = {"day": _("Day"), "month": _("Month"), "year": _("Year")}
        for part in context["widget"]["subwidgets"]:
            part["attrs"]["aria-label"] = parts[part["name"].rpartition("_")[2]]
        return context


def read_clock(text: str) -> time | None:
    """The hour that was typed; None for what is no hour."""
    try:
        return ClockField(required=False).clean(text)
    except ValidationError:
        return None
