"""Form shape of a payment; the rules are in ``counter.money.services``."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from counter.models import Payment, Shop
from counter.money.amounts import decimals, parse_money
from tickets.errors import Refused

_TYPED = {"inputmode": "decimal", "autocomplete": "off"}


class PayForm(forms.Form):
    """Money in or out. ``given`` is the cash in the customer's hand, for the change."""

    kind = forms.ChoiceField(choices=Payment.Kind.choices, widget=forms.HiddenInput)
    means = forms.ChoiceField(label=_("Paid by"), choices=Payment.Means.choices)
    amount = forms.CharField(label=_("Amount"), max_length=20, widget=forms.TextInput(attrs=_TYPED))
    given = forms.CharField(
        label=_("Cash given"),
        max_length=20,
        required=False,
        widget=forms.TextInput(attrs=_TYPED),
    )
    reason = forms.CharField(label=_("Reason or note"), max_length=200, required=False)
    key = forms.CharField(
        max_length=64,
        widget=forms.HiddenInput,
        error_messages={"required": _("The form has no one-time key. Open the page again.")},
    )

    def __init__(self, *args: Any, shop: Shop, **kwargs: Any) -> None:
        self.shop = shop
        super().__init__(*args, **kwargs)

    def clean_amount(self) -> Decimal:
        return self._money("amount")

    def clean_given(self) -> Decimal | None:
        return self._money("given") if self.cleaned_data["given"].strip() else None

    def _money(self, name: str) -> Decimal:
        try:
            return parse_money(self.cleaned_data[name], self.shop, str(self.fields[name].label))
        except Refused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal

    @staticmethod
    def show(amount: Decimal, shop: Shop) -> str:
        """An amount as it stands in the field."""
        return f"{amount:.{decimals(shop)}f}"
