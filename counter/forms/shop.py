"""Form shapes of the shop's pages; the rules are in ``counter.shop_settings``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import time
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.utils.dateparse import parse_time
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from care_rules import catalogue
from counter.models import PriceItem, Shop
from counter.models.shop import Partner, Solvent, tag_size_choices
from counter.money import decimals, parse_money
from counter.roles import BACKROOM, COUNTER, OWNER
from counter.shop_settings import PriceKey
from tickets.choices import WORK_STATIONS, Station
from tickets.errors import Refused
from tickets.models import OpeningHours, StationCrew
from tickets.models.shop import Weekday

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
        label=gettext_lazy("Solvents in house"),
        choices=Solvent.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    send_out = forms.MultipleChoiceField(
        label=gettext_lazy("Partners for"),
        choices=Partner.choices,
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
            "send_out",
            "rush_percent",
            "minimum_charge",
        ]
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "slip_footer": forms.Textarea(attrs={"rows": 3}),
        }


class ClosedDayForm(forms.Form):
    day = forms.DateField(label=gettext_lazy("Day"), widget=forms.DateInput(attrs={"type": "date"}))
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


@dataclass
class DayRow:
    """One weekday as typed."""

    weekday: int
    name: str
    open: bool
    opens: str
    closes: str


def hours_rows(data: Mapping[str, Any] | None = None) -> list[DayRow]:
    """The week as it stands, or as typed in a form."""
    if data is not None:
        return [
            DayRow(
                weekday=day.value,
                name=str(day.label),
                open=bool(data.get(f"open-{day.value}")),
                opens=str(data.get(f"opens-{day.value}", "")).strip(),
                closes=str(data.get(f"closes-{day.value}", "")).strip(),
            )
            for day in Weekday
        ]
    known = {row.weekday: row for row in OpeningHours.objects.all()}
    return [
        DayRow(
            weekday=day.value,
            name=str(day.label),
            open=day.value in known,
            opens=f"{known[day.value].opens:%H:%M}" if day.value in known else "",
            closes=f"{known[day.value].closes:%H:%M}" if day.value in known else "",
        )
        for day in Weekday
    ]


def read_hours(rows: list[DayRow]) -> dict[int, tuple[time, time] | None]:
    """The week that typed rows mean; ``Refused`` names the day and the value."""
    return {
        row.weekday: (_time(row.name, row.opens), _time(row.name, row.closes)) if row.open else None
        for row in rows
    }


def _time(day: str, text: str) -> time:
    try:
        found = parse_time(text)
    except ValueError:
        found = None
    if found is None:
        raise Refused(
            "bad_time",
            _("%(day)s: %(text)s is not a time.") % {"day": day, "text": text or "–"},
            _("Write it like 08:30, or mark the day as closed."),
        )
    return found


@dataclass(frozen=True)
class CrewRow:
    station: Station
    people: str


def crew_rows(data: Mapping[str, Any] | None = None) -> list[CrewRow]:
    known = {row.station: row.people for row in StationCrew.objects.all()}
    return [
        CrewRow(
            station,
            str(data.get(f"crew-{station}", "")).strip()
            if data is not None
            else f"{known.get(station, Decimal(1)):g}",
        )
        for station in WORK_STATIONS
    ]


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


# Prices


@dataclass
class PriceCell:
    """One amount of the list. ``usual`` is what is asked while the cell is empty."""

    name: str
    label: str
    key: PriceKey
    text: str
    usual: str = ""
    fault: str = ""


@dataclass
class PriceRow:
    label: str
    cells: list[PriceCell]


@dataclass
class PriceGroup:
    title: str
    rows: list[PriceRow]

    @property
    def missing(self) -> int:
        """Cells that have no price, and none for "any kind" to fall back on."""
        cells = [cell for row in self.rows for cell in row.cells]
        return sum(1 for cell in cells if not cell.text and not cell.usual)

    @property
    def faulty(self) -> bool:
        return any(cell.fault for row in self.rows for cell in row.cells)


@dataclass
class PriceSheet:
    """The whole list as a form: cleaning and pressing by kind, mending and altering by operation."""

    shop: Shop
    data: Mapping[str, Any] | None = None
    by_kind: list[PriceGroup] = field(init=False)
    by_work: list[PriceGroup] = field(init=False)

    def __post_init__(self) -> None:
        self.known = {
            (row.service, row.kind, row.work): row.amount for row in PriceItem.objects.all()
        }
        any_row = PriceRow(_("Any other kind"), [self._cell("clean"), self._cell("press")])
        usual = {cell.key[0]: cell.text for cell in any_row.cells}
        self.by_kind = [PriceGroup(_("Any kind"), [any_row])]
        for entry in catalogue.kinds():
            cells = [self._cell(s, entry.key, label=entry.name) for s in ("clean", "press")]
            for cell in cells:
                cell.usual = usual[cell.key[0]]
            _into(self.by_kind, entry.group, PriceRow(entry.name, cells))
        work_any = [
            PriceRow(_("Mending not on the list"), [self._cell("mend")]),
            PriceRow(_("Alteration not on the list"), [self._cell("alter")]),
        ]
        self.by_work = [PriceGroup(_("Any operation"), work_any)]
        for entry in catalogue.work():
            listed = "mend" if ("mend", "", entry.key) in self.known else "alter"
            cell = self._cell(listed, work=entry.key, label=entry.name)
            _into(self.by_work, entry.group, PriceRow(entry.name, [cell]))

    @property
    def groups(self) -> list[PriceGroup]:
        return [*self.by_kind, *self.by_work]

    @property
    def faults(self) -> list[str]:
        return [cell.fault for group in self.groups for cell in self._cells(group) if cell.fault]

    def read(self) -> dict[PriceKey, Decimal | None]:
        """Amounts as typed; a cell that can't be read keeps its fault and is left out."""
        wanted: dict[PriceKey, Decimal | None] = {}
        for group in self.groups:
            for cell in self._cells(group):
                if not cell.text:
                    wanted[cell.key] = None
                    continue
                try:
                    wanted[cell.key] = parse_money(cell.text, self.shop, cell.label)
                except Refused as refusal:
                    cell.fault = str(refusal)
        return wanted

    @staticmethod
    def _cells(group: PriceGroup) -> list[PriceCell]:
        return [cell for row in group.rows for cell in row.cells]

    def _cell(self, service: str, kind: str = "", work: str = "", label: str = "") -> PriceCell:
        key, name = (service, kind, work), f"price-{service}-{kind}-{work}"
        if self.data is not None:
            text = str(self.data.get(name, "")).strip()
        else:
            amount = self.known.get(key)
            text = "" if amount is None else f"{amount:.{decimals(self.shop)}f}"
        service_name = str(PriceItem.Service(service).label)
        return PriceCell(name, f"{label or _('Any kind')}, {service_name}", key, text)


def _into(groups: list[PriceGroup], title: str, row: PriceRow) -> None:
    found = next((group for group in groups if group.title == title), None)
    if found is None:
        groups.append(PriceGroup(title, [row]))
    else:
        found.rows.append(row)
