"""Form shapes of the shop's pages; the rules are in ``counter.shop.services``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING

from django import forms
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from counter.models import Shop
from counter.models.shop import Solvent, tag_size_choices
from counter.roles import BACKROOM, COUNTER, OWNER
from counter.shop.forms.clocks import DayInput, read_clock
from counter.shop.queries import crews_by_station, hours_by_weekday
from counter.shop.services import DayHours
from tickets.choices import WORK_STATIONS, Station
from tickets.errors import Refused
from tickets.models import StationCrew
from tickets.models.shop import Weekday
from tickets.shop.calendar import business_day

if TYPE_CHECKING:
    _ShopModelForm = forms.ModelForm[Shop]
else:
    _ShopModelForm = forms.ModelForm

ROLE_NAMES = [
    (COUNTER, gettext_lazy("Counter")),
    (BACKROOM, gettext_lazy("Back room")),
    (OWNER, gettext_lazy("Owner")),
]


class ShopForm(_ShopModelForm):
    tag_size = forms.ChoiceField(label=gettext_lazy("Tag size"), choices=tag_size_choices)
    dry_cleaning = forms.MultipleChoiceField(
        label=gettext_lazy("Solvents here"),
        choices=Solvent.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = Shop
        fields = [
            "name",
            "address",
            "phone",
            "country",
            "currency",
            "currency_sign",
            "fahrenheit",
            "tag_size",
            "tag_dpi",
            "slip_paper",
            "slip_footer",
            "wet_cleaning",
            "dry_cleaning",
            "rush_percent",
            "minimum_charge",
            "water_price",
            "power_price",
            "gas_price",
        ]
        labels = {
            "fahrenheit": gettext_lazy("Fahrenheit beside Celsius"),
            "tag_dpi": gettext_lazy("Dots per inch"),
            "slip_paper": gettext_lazy("Paper of slips"),
            "slip_footer": gettext_lazy("Claim slip foot"),
            "wet_cleaning": gettext_lazy("Wet cleaning here"),
            "rush_percent": gettext_lazy("Rush surcharge, %"),
            "minimum_charge": gettext_lazy("Minimum charge"),
            "water_price": gettext_lazy("Water, cubic metre"),
            "power_price": gettext_lazy("Electricity, kWh"),
            "gas_price": gettext_lazy("Gas, kWh"),
        }
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "slip_footer": forms.Textarea(attrs={"rows": 3}),
        }


class ClosedDayForm(forms.Form):
    day = forms.DateField(label=gettext_lazy("Day"), widget=DayInput, initial=business_day)
    note = forms.CharField(label=gettext_lazy("Why"), max_length=80, required=False)


class PersonForm(forms.Form):
    full_name = forms.CharField(label=gettext_lazy("Name"), max_length=150)
    role = forms.ChoiceField(label=gettext_lazy("Role"), choices=ROLE_NAMES)
    pin = forms.CharField(
        label=gettext_lazy("PIN"),
        required=False,
        max_length=8,
        help_text=gettext_lazy("Four to eight digits, for a shared tablet."),
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    password = forms.CharField(
        label=gettext_lazy("Password"),
        required=False,
        max_length=128,
        help_text=gettext_lazy("For signing in a device; staff who only use a PIN need none."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class NewPersonForm(PersonForm):
    username = forms.CharField(
        label=gettext_lazy("Sign-in name"),
        max_length=150,
        validators=[UnicodeUsernameValidator()],
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "off"}),
    )
    field_order = ["full_name", "username", "role", "pin", "password"]


class KnownPersonForm(PersonForm):
    active = forms.BooleanField(label=gettext_lazy("Works here"), required=False)


_CLOCKS = {
    "opens": gettext_lazy("Opens"),
    "closes": gettext_lazy("Closes"),
    "break_from": gettext_lazy("Break from"),
    "break_until": gettext_lazy("Break until"),
    "cut_off": gettext_lazy("Same day until"),
}
"""The times of a day, by the name of their field."""


@dataclass(frozen=True)
class TimeOfDay:
    """One time of one weekday, as the form shows it."""

    name: str
    label: str
    time: str


@dataclass
class DayRow:
    """One weekday as typed."""

    weekday: int
    name: str
    open: bool
    opens: str = ""
    closes: str = ""
    break_from: str = ""
    break_until: str = ""
    cut_off: str = ""

    @property
    def times(self) -> list[TimeOfDay]:
        return [
            TimeOfDay(f"{name}-{self.weekday}", str(label), getattr(self, name))
            for name, label in _CLOCKS.items()
        ]


def hours_rows(data: Mapping[str, str] | None = None) -> list[DayRow]:
    """The week as it stands, or as typed in a form."""
    if data is not None:
        return [
            DayRow(
                weekday=day.value,
                name=str(day.label),
                open=bool(data.get(f"open-{day.value}")),
                **{name: str(data.get(f"{name}-{day.value}", "")).strip() for name in _CLOCKS},
            )
            for day in Weekday
        ]
    known = hours_by_weekday()
    return [
        DayRow(
            weekday=day.value,
            name=str(day.label),
            open=day.value in known,
            **{name: _shown(getattr(known.get(day.value), name, None)) for name in _CLOCKS},
        )
        for day in Weekday
    ]


def _shown(clock: time | None) -> str:
    return f"{clock:%H:%M}" if clock else ""


def read_hours(rows: list[DayRow]) -> dict[int, DayHours | None]:
    """The week that typed rows mean; ``Refused`` names the day and the value."""
    return {row.weekday: _day(row) if row.open else None for row in rows}


def _day(row: DayRow) -> DayHours:
    def maybe(text: str) -> time | None:
        return _time(row.name, text) if text else None

    return DayHours(
        _time(row.name, row.opens),
        _time(row.name, row.closes),
        maybe(row.break_from),
        maybe(row.break_until),
        maybe(row.cut_off),
    )


def _time(day: str, text: str) -> time:
    clock = read_clock(text)
    if clock is None:
        raise Refused(
            "bad_time",
            _("%(day)s: %(text)s is not a time.") % {"day": day, "text": text or "–"},
            _("Write it like 08:30, or mark the day as closed."),
        )
    return clock


@dataclass(frozen=True)
class CrewRow:
    """A station's crew as typed; empty ``minutes`` mean the whole day."""

    station: Station
    people: str
    minutes: str = ""


def crew_rows(data: Mapping[str, str] | None = None) -> list[CrewRow]:
    if data is not None:
        return [
            CrewRow(
                station,
                str(data.get(f"crew-{station}", "")).strip(),
                str(data.get(f"minutes-{station}", "")).strip(),
            )
            for station in WORK_STATIONS
        ]
    known = crews_by_station()
    return [_crew_row(station, known.get(station)) for station in WORK_STATIONS]


def _crew_row(station: Station, row: StationCrew | None) -> CrewRow:
    if row is None:
        return CrewRow(station, "1")
    return CrewRow(station, f"{row.people.normalize():f}", str(row.minutes_a_day or ""))


def read_crews(rows: list[CrewRow]) -> dict[Station, Decimal]:
    crews = {}
    for row in rows:
        try:
            crews[row.station] = Decimal(row.people.replace(",", "."))
        except InvalidOperation as error:
            raise Refused(
                "bad_crew",
                _("%(station)s: %(text)s is not a number.")
                % {"station": row.station.label, "text": row.people or "–"},
                _("Write how many people work there at once, like 1 or 0.5."),
            ) from error
    return crews


def read_crew_minutes(rows: list[CrewRow]) -> dict[Station, int | None]:
    """Minutes a day by station; None where nothing was typed."""
    for row in rows:
        if row.minutes and not row.minutes.isdecimal():
            raise Refused(
                "bad_crew_minutes",
                _("%(station)s: %(text)s is not a number of minutes.")
                % {"station": row.station.label, "text": row.minutes},
                _("Write whole minutes, like 240, or leave it empty for the whole day."),
            )
    return {row.station: int(row.minutes) if row.minutes else None for row in rows}
