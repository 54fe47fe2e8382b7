"""The one line of a scan box."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from tickets.tracking.forms import OnceForm


class ScanForm(OnceForm):
    """One line of a scan box. An empty line is answered, not refused by the browser."""

    line = forms.CharField(
        label=_("Scan or type"),
        max_length=60,
        required=False,
        widget=forms.TextInput(
            attrs={
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "enterkeyhint": "send",
                "placeholder": _("Scan a tag"),
                "autofocus": True,
            }
        ),
    )
