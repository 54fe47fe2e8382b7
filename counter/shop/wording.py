"""The rows of the owner's tables in words: machines, programmes, partners, places, crew days."""

from __future__ import annotations

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format, localize, time_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.shop import queries
from counter.shop.shop_tables import RowButton, RowGroup, TableRow
from tickets.choices import WORK_STATIONS
from tickets.errors import Refused
from tickets.loads.bags import moment_words
from tickets.models import Machine, MachineKind, Partner, PartnerService, Programme, RackPlace
from tickets.models.machines import DRYING_PLACES, NO_DRUM, ONE_PERSON
from tickets.models.shop import Weekday
from tickets.shop.calendar import ShopCalendar, business_day
from tickets.shop.queries import crews_since, read_calendar
from tickets.shop.rounds import Round


def machine_groups() -> list[RowGroup]:
    """For each kind that the shop has: its machines, then the programmes that they run."""
    machines, programmes = list(queries.machines()), list(queries.programmes())
    groups = []
    for kind in MachineKind:
        of_kind = [machine for machine in machines if machine.kind == kind]
        runs = [programme for programme in programmes if programme.kind == kind]
        if not of_kind and not runs:
            continue
        groups.append(_machines_of(kind, of_kind))
        if kind not in NO_DRUM:
            groups.append(_programmes_of(kind, runs))
    if groups:
        return groups
    empty = _("No machine yet: the back room gets no proposals for loads.")
    return [RowGroup(_("In use"), (), (), empty)]


def _machines_of(kind: MachineKind, machines: list[Machine]) -> RowGroup:
    note = ""
    if kind in DRYING_PLACES:
        note = _(
            "What hangs or lies here has no machine; the plan of the day hangs up no more than "
            "fits."
        )
    elif kind in ONE_PERSON:
        note = _("No more people press at once than there are presses and ironers in use.")
    columns = (_("Name"), _("Holds"), _("Marks"))
    return RowGroup(str(kind.label), columns, [_machine(row) for row in machines], note=note)


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
    return TableRow(machine.name, (holds, _together(marks)), url, in_use=machine.in_use)


def _programmes_of(kind: MachineKind, programmes: list[Programme]) -> RowGroup:
    columns = (_("Name"), _("Heat"), _("Action"), _("Spin"), _("Minutes"), _("Litres for a kg"))
    title = _("%(machine)s: programmes") % {"machine": kind.label}
    add = (reverse("shop_programme_new", args=[kind.value]), _("Add a programme"))
    return RowGroup(title, columns, [_programme(row) for row in programmes], add=add, figures=2)


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


def partner_groups() -> list[RowGroup]:
    calendar = read_calendar()
    columns = (_("Name"), _("Takes in"), _("Picked up"), _("Brought back by"), _("Packed now"))
    rows = [_partner(partner, calendar) for partner in queries.partners()]
    empty = _("None yet: the care decision sends nothing out.")
    return [RowGroup(_("Partners"), columns, rows, empty)]


def _partner(partner: Partner, calendar: ShopCalendar) -> TableRow:
    """The partner's days in words, and when a piece packed now would be back."""
    back = ""
    if partner.in_use:
        try:
            moment = Round.of(partner).back(timezone.now(), calendar.open_on)
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


def place_groups() -> list[RowGroup]:
    places = queries.places()
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


def crew_day_groups() -> list[RowGroup]:
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
        for row, usual in queries.crew_days_to_come()
    ]
    people = crews_since(business_day()).usual
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
