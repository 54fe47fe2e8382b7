"""What the page of loads sends to open a load or a bag."""

from __future__ import annotations

from django import forms

from tickets.tracking.forms import OnceForm


class OpenLoadForm(OnceForm):
    """A machine and the pieces of a proposal, their numbers apart by spaces; none is fine."""

    machine = forms.IntegerField(min_value=1)
    codes = forms.CharField(required=False, max_length=6000)
