"""Which label stock the tags of a ticket are printed on."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from tickets.printing import TAG_SIZES


class TagsForm(forms.Form):
    """Label stock and the first free label on a started sheet."""

    size = forms.ChoiceField(
        label=_("Label size"), choices=lambda: [(k, s.title) for k, s in TAG_SIZES.items()]
    )
    start_at = forms.IntegerField(
        label=_("First free label"), min_value=1, initial=1, required=False
    )

    def clean_start_at(self) -> int:
        return self.cleaned_data["start_at"] or 1
