"""The rows of the owner's tables in words: machines, programmes, partners, places, crew days."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from django.urls import reverse
from django.utils.formats import date_format, localize, time_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.shop.shop_tables import RowButton, RowGroup, TableRow
from tickets.choices import WORK_STATIONS
from tickets.errors import Refused
from tickets.loads.wording.reasons import moment_words
from tickets.models import (
    CrewDay,
    Machine,
    MachineKind,
    Partner,
    PartnerService,
    Programme,
    RackPlace,
)
from tickets.models.machines import DRYING_PLACES, NO_DRUM, ONE_PERSON
from tickets.models.shop import Weekday
from tickets.shop.calendar import ShopCalendar
from tickets.shop.rounds import Round


def machine_groups(machines: Sequence[Machine], programmes: Sequence[Programme]) -> list[RowGroup]:
    """All machines in order of their kinds, then the programmes of each kind that the shop has."""
    by_kind = {kind: [row for row in machines if row.kind == kind] for kind in MachineKind}
    rows = [_machine(row) for of_kind in by_kind.values() for row in of_kind]
    empty = _("No machine yet: the back room gets no proposals for loads.")
    columns = (_("Name"), _("Kind"), _("Holds"), _("Marks"))
    groups = [RowGroup(_("Machines"), columns, rows, empty, note=_notes_on(machines))]
    for kind in MachineKind:
        runs = [programme for programme in programmes if programme.kind == kind]
        if (by_kind[kind] or runs) and kind not in NO_DRUM:
            groups.append(_programmes_of(kind, runs))
    return groups


def _notes_on(machines: Iterable[Machine]) -> str:
    kinds = {machine.kind for machine in machines}
    drying = _("A rail or flat place has no machine; the plan hangs up no more than fits.")
    pressing = _("No more people press at once than there are presses and ironers in use.")
    notes = [
        drying if kinds & set(DRYING_PLACES) else "",
        pressing if kinds & set(ONE_PERSON) else "",
    ]
    return " ".join(filter(None, notes))


def _machine(machine: Machine) -> TableRow:
    if machine.litres:
        holds = f"{localize(machine.litres.normalize())} l"
        holds += f" · {machine.spin_g} G" if machine.spin_g else ""
    elif machine.kind in DRYING_PLACES:
        count = machine.most_pieces
        holds = ngettext("%(n)d piece at once", "%(n)d pieces at once", count) % {"n": count}
    else:
        holds = _("one person")
    only = ", ".join(programme.name for programme in machine.programmes.all())
    marks = [
        _("only %(programmes)s") % {"programmes": only} if only else "",
        _("heat pump") if machine.heat_pump else "",
        _("gas") if machine.gas else "",
        "" if machine.in_use else _("out of use"),
    ]
    url = reverse("shop_machine", args=[machine.pk])
    cells = (str(machine.get_kind_display()), holds, _together(marks))
    return TableRow(machine.name, cells, url, in_use=machine.in_use)


def _programmes_of(kind: MachineKind, programmes: list[Programme]) -> RowGroup:
    columns = (_("Name"), _("Heat"), _("Action"), _("Spin"), _("Minutes"), _("Litres a kg"))
    return RowGroup(
        str(kind.label),
        columns,
        [_programme(row) for row in programmes],
        add=(reverse("shop_programme_new", args=[kind.value]), _("Add a programme")),
        folded=True,
        figures=2,
        under=_("Programmes"),
    )


def _programme(programme: Programme) -> TableRow:
    if programme.kind == MachineKind.DRYER:
        settings = (programme.get_tumble_display(), "", "")
    else:
        heat = f"{programme.max_c} °C" if programme.max_c else ""
        settings = (heat, programme.get_action_display(), programme.get_spin_display())
    sums = (str(programme.minutes), localize(programme.litres_per_kg.normalize()))
    name = programme.name if programme.in_use else f"{programme.name} · {_('out of use')}"
    url = reverse("shop_programme", args=[programme.pk])
    return TableRow(name, (*settings, *sums), url, in_use=programme.in_use)


def partner_groups(
    partners: Iterable[Partner], calendar: ShopCalendar, now: datetime
) -> list[RowGroup]:
    columns = (_("Name"), _("Takes in"), _("Picked up"), _("Brought back by"), _("Packed now"))
    rows = [_partner(partner, calendar, now) for partner in partners]
    empty = _("None yet: the care decision sends nothing out.")
    return [RowGroup(_("Partners"), columns, rows, empty)]


def _partner(partner: Partner, calendar: ShopCalendar, now: datetime) -> TableRow:
    """The partner's days in words, and when a piece packed now would be back."""
    back = ""
    if partner.in_use:
        try:
            moment = Round.of(partner).back(now, calendar.open_on)
            back = _("back by %(moment)s") % {"moment": moment_words(moment)}
        except Refused as no:
            back = str(no)
    services = ", ".join(str(PartnerService(service).label) for service in partner.services)
    away = ngettext("%(n)d day away", "%(n)d days away", partner.days_away)
    cells = (
        services if partner.in_use else f"{services} · {_('out of use')}",
        _days_at(partner.collect_days, time_format(partner.collect_at, "H:i")),
        _together(
            [
                _days_at(partner.return_days, time_format(partner.return_at, "H:i")),
                away % {"n": partner.days_away},
            ]
        ),
        back,
    )
    url = reverse("shop_partner", args=[partner.pk])
    return TableRow(partner.name, cells, url, in_use=partner.in_use)


def _days_at(weekdays: list[int], clock: str) -> str:
    days = ", ".join(str(Weekday(day).label) for day in sorted(weekdays))
    return f"{days or _('every day the shop is open')}, {clock}"


def place_groups(places: Sequence[tuple[RackPlace, int]]) -> list[RowGroup]:
    """``places``: each with how many pieces hang there."""
    used = [(place, hanging) for place, hanging in places if place.in_use]
    retired = [place for place, _hanging in places if not place.in_use]
    columns = (_("Place"), _("Hanging there"))
    groups = [
        RowGroup(
            _("In use"),
            columns,
            [_place(place, hanging) for place, hanging in used],
            _("None yet: pieces can't be racked."),
            side_by_side=True,
        )
    ]
    if retired:
        rows = [
            TableRow(
                place.code,
                ("",),
                button=RowButton("places", place.code, _("Use again")),
                in_use=False,
            )
            for place in retired
        ]
        groups.append(RowGroup(_("Out of use"), columns, rows, folded=True, side_by_side=True))
    return groups


def _place(place: RackPlace, hanging: int) -> TableRow:
    if hanging:
        words = ngettext("%(n)d piece", "%(n)d pieces", hanging) % {"n": hanging}
        return TableRow(place.code, (words,))
    return TableRow(place.code, ("",), button=RowButton("retire", str(place.pk), _("Retire")))


def crew_day_groups(
    days: Iterable[tuple[CrewDay, Decimal]], people: Mapping[str, float]
) -> list[RowGroup]:
    """``days``: each with the station's usual number; ``people``: the usual crew by station."""
    rows = [
        TableRow(
            date_format(row.day, "D j M Y"),
            (
                str(row.get_station_display()),
                localize(row.people.normalize()) if row.people else _("nobody"),
                localize(usual.normalize()),
            ),
            button=RowButton("usual", str(row.pk), _("As usual")),
        )
        for row, usual in days
    ]
    usually = [
        TableRow(str(station.label), (f"{people.get(station, 1.0):g}",))
        for station in WORK_STATIONS
    ]
    return [
        RowGroup(
            _("Days to come"),
            (_("Day"), _("Station"), _("People there"), _("Usually")),
            rows,
            _("The usual crew on all days."),
            figures=2,
        ),
        RowGroup(_("Usually"), (_("Station"), _("People")), usually, side_by_side=True),
    ]


def _together(words: list[str]) -> str:
    return " · ".join(filter(None, words))
