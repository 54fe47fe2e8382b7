"""Form shapes of the pickup pages; the rules are in ``counter.pickup.services``."""

from __future__ import annotations

import uuid

from django import forms
from django.utils.translation import gettext_lazy as _

from counter.models import Pickup
from tickets.scanning.forms import ScanForm

SAME_PERSON, OTHER_PERSON = "customer", "other"


class FindForm(forms.Form):
    q = forms.CharField(
        label=_("Claim slip, piece, phone or name"),
        max_length=120,
        required=False,
        widget=forms.TextInput(
            attrs={
                "type": "search",
                "class": "big",
                "autofocus": True,
                "autocomplete": "off",
                "autocapitalize": "off",
                "spellcheck": "false",
                "enterkeyhint": "search",
            }
        ),
    )


class ScanOutForm(ScanForm):
    """One line of the scan box at the counter. A piece laid there twice lies there once, so that a
    line needs no key."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, required=False)
    line = forms.CharField(
        max_length=60,
        required=False,
        widget=forms.TextInput(
            attrs={
                "inputmode": "numeric",
                "autocomplete": "off",
                "enterkeyhint": "done",
                "autofocus": True,
            }
        ),
    )

    @property
    def once(self) -> str:
        return str(self.cleaned_data["key"] or "")


class HandOverForm(forms.Form):
    """Who collects, how that was proved, and what stays behind."""

    pickup_id = forms.IntegerField(
        widget=forms.HiddenInput,
        error_messages={"required": _("No piece is scanned out. Scan each piece that leaves.")},
    )
    who = forms.ChoiceField(
        choices=[(SAME_PERSON, ""), (OTHER_PERSON, _("Somebody else"))],
        error_messages={
            "required": _("Say who collects."),
            "invalid_choice": _("%(value)s is no choice. Say who collects."),
        },
    )
    name = forms.CharField(label=_("Their name"), max_length=120, required=False)
    proof = forms.ChoiceField(
        label=_("Proof"),
        choices=Pickup.Proof.choices,
        error_messages={
            "required": _("Say how the collector was proved."),
            "invalid_choice": _("%(value)s is no choice. Say how the collector was proved."),
        },
    )
    owed_reason = forms.CharField(
        label=_("Why the balance stays open"), max_length=200, required=False
    )
    part_of = forms.IntegerField(required=False, min_value=0, max_value=99)

    def collector(self, customer_name: str) -> str:
        """The name to keep; empty when somebody else collects and no name was typed."""
        if self.cleaned_data["who"] == SAME_PERSON:
            return customer_name
        return str(self.cleaned_data["name"])
