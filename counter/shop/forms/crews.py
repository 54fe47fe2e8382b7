"""Who is at a station on which days, as one form."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from counter.shop.forms.clocks import DayInput
from tickets.choices import WORK_STATIONS
from tickets.shop.calendar import business_day
from tickets.shop.crews import MOST_PEOPLE


class CrewDayForm(forms.Form):
    station = forms.ChoiceField(
        label=_("Station"), choices=[(place.value, place.label) for place in WORK_STATIONS]
    )
    people = forms.DecimalField(
        label=_("People there"),
        max_digits=4,
        decimal_places=1,
        localize=True,
        help_text=_("0 when nobody is there, 0.5 for half a day."),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={
            "invalid": _("Write how many people are there, from 0 to %(most)d.")
            % {"most": MOST_PEOPLE}
        },
    )
    first = forms.DateField(label=_("On, or from"), widget=DayInput, initial=business_day)
    last = forms.DateField(
        label=_("Until"),
        required=False,
        help_text=_("Empty for one day."),
        widget=DayInput,
    )
