"""A form that does its work once, and the forms by which a piece is stopped, sent back or returned.

The rules behind them live in ``tickets.tracking.services``.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from tickets.choices import Station
from tickets.models import Piece
from tickets.shop.calendar import business_day
from tickets.tracking import queries
from tickets.tracking.wording import name_of


class OnceForm(forms.Form):
    """A form with a one-time key, so that sending it twice does its work once."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)

    def clean(self) -> dict[str, Any]:
        if "key" in self.errors:
            self.add_error(None, _("The form came back without its one-time key. Send it again."))
            given = {name: self.data.get(name) for name in self.data}
            self.data = {**given, self.add_prefix("key"): str(uuid.uuid4())}
        return self.cleaned_data

    @property
    def once(self) -> str:
        return str(self.cleaned_data["key"])


class PersonField(forms.ModelChoiceField):
    def label_from_instance(self, obj: User) -> str:
        return name_of(obj)


class HoldForm(OnceForm):
    reason = forms.CharField(
        label=_("Why it stops"),
        max_length=300,
        help_text=_("Five words, a colon, then the rest. Lists show the first words."),
    )
    owner = PersonField(label=_("Who asks?"), queryset=None, empty_label=None)
    ask_again_on = forms.DateField(
        label=_("Ask again on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        owner = self.fields["owner"]
        assert isinstance(owner, PersonField)
        owner.queryset = queries.who_may_ask()
        self.fields["ask_again_on"].initial = lambda: business_day() + timedelta(days=1)


class ReleaseForm(OnceForm):
    outcome = forms.CharField(label=_("What was answered"), max_length=300)


class RedoForm(OnceForm):
    """Sends a piece back. Offers the stations where work on it is done already."""

    station = forms.ChoiceField(label=_("Back to"), widget=forms.RadioSelect)
    reason = forms.CharField(label=_("What is wrong?"), max_length=300)

    def __init__(self, *args: Any, piece: Piece, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        steps = list(piece.steps.all())
        stations = self.fields["station"]
        assert isinstance(stations, forms.ChoiceField)
        # All of the route is valid: a form sent twice names a station that is open again by now.
        stations.choices = _labelled(step.station for step in steps)
        self.offered = _labelled(step.station for step in steps if step.done_at)
        assert isinstance(stations.widget, forms.RadioSelect)
        stations.widget.choices = self.offered


def _labelled(stations: Iterable[str]) -> list[tuple[str, str | Promise]]:
    return [(key, Station(key).label) for key in dict.fromkeys(stations)]


class ReturnForm(OnceForm):
    reason = forms.CharField(label=_("Why undone"), max_length=300)
