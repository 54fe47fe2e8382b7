"""Rack places to add, as one line."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class PlacesForm(forms.Form):
    places = forms.CharField(
        label=_("Places"),
        max_length=400,
        help_text=_("Write one or several, like A1 A2 RAIL-3, or a whole row, like B1..B20."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
