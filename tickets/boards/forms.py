"""Sending a matched ticket to the rack, or with a reason a part of it."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from tickets.tracking.forms import OnceForm


class CompleteForm(OnceForm):
    part_reason = forms.CharField(label=_("Why a part"), max_length=300, required=False)
