"""What the pages of a customer send."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from tickets.garments.customers import WRITTEN_FIELDS
from tickets.models import Customer


class CustomerForm(forms.ModelForm):
    phone = forms.CharField(
        label=_("Phone"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off", "inputmode": "tel"}),
        help_text=_("Without a phone or an e-mail nobody can tell them that it is ready."),
    )

    class Meta:
        model = Customer
        fields = WRITTEN_FIELDS
        labels = {
            "name": _("Name"),
            "email": _("E-mail"),
            "address_line": _("Address line"),
            "may_message": _("Agreed to messages about their tickets"),
            "fragrance_free": _("Wants no fragrance: washed apart, without softener"),
            "no_softener": _("Wants no softener"),
            "notes": _("Notes for staff"),
        }
        help_texts = {"address_line": _("Street or village, to tell namesakes apart.")}
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "off"}),
            "email": forms.EmailInput(attrs={"autocomplete": "off"}),
            "address_line": forms.TextInput(attrs={"autocomplete": "off"}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }
