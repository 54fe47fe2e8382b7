"""The PIN as it is typed."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class PinForm(forms.Form):
    pin = forms.CharField(
        label=_("PIN"),
        min_length=4,
        max_length=8,
        widget=forms.PasswordInput(
            attrs={"inputmode": "numeric", "autocomplete": "off", "autofocus": True}
        ),
    )
