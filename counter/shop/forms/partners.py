"""Form shape of a partner; the rules are in ``tickets.shop.partners``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.utils.translation import gettext_lazy as _

from counter.shop.forms.clocks import ClockField
from counter.shop.forms.limits import say_limits
from tickets.models import Partner, PartnerService
from tickets.models.shop import Weekday

if TYPE_CHECKING:
    _PartnerModelForm = forms.ModelForm[Partner]
else:
    _PartnerModelForm = forms.ModelForm


class _Weekdays(forms.TypedMultipleChoiceField):
    def __init__(self, label: Any) -> None:
        super().__init__(
            label=label,
            choices=Weekday.choices,
            coerce=int,
            required=False,
            widget=forms.CheckboxSelectMultiple,
            help_text=_("None ticked: every day the shop is open."),
        )


class PartnerForm(_PartnerModelForm):
    services = forms.MultipleChoiceField(
        label=_("Takes in"), choices=PartnerService.choices, widget=forms.CheckboxSelectMultiple
    )
    collect_days = _Weekdays(_("Picked up on"))
    return_days = _Weekdays(_("Brought back on"))

    class Meta:
        model = Partner
        fields = [
            "name",
            "days_away",
            "collect_at",
            "return_at",
            "services",
            "collect_days",
            "return_days",
            "in_use",
        ]
        labels = {"days_away": _("Days away")}
        field_classes = {"collect_at": ClockField, "return_at": ClockField}
        help_texts = {
            "collect_at": _("A piece packed after it waits for the next pick-up."),
            "days_away": _("At the least, in calendar days."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_limits(self)
