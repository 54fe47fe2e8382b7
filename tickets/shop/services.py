"""The doors through which the owner sets machines, programmes, partners, crews and weights."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from care_rules import catalogue
from care_rules.limits import ACTIONS, SPINS, TUMBLES
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import (
    CrewDay,
    KindWeight,
    Machine,
    MachineKind,
    OpeningHours,
    Partner,
    Programme,
    StationCrew,
)
from tickets.models.machines import DRYING_PLACES, NO_DRUM, ONE_PERSON, OPEN_LOADS
from tickets.models.shop import Weekday
from tickets.shop.calendar import business_day
from tickets.shop.crews import MOST_AHEAD, MOST_DAYS, MOST_PEOPLE
from tickets.shop.machine_facts import (
    dryer_programmes,
    sink_programmes,
    solvent_programmes,
    usual_programmes,
    wet_programmes,
)
from tickets.shop.queries import read_calendar, shop_grams
from tickets.shop.weights import HEAVIEST_G
from tickets.writing import atomic_write


def save_machine(machine: Machine, only: Iterable[Programme] | None = None) -> Machine:
    """Add or change a machine. The first of its kind brings the usual programmes with it.

    ``only`` are the programmes of its kind that it can run, none of them meaning all; left out,
    they stay as they are.
    """
    if machine.pk and (changed := _changed_kind(machine)):
        raise Refused(
            "kind_fixed",
            _("%(machine)s stays a %(kind)s: its loads hang on it.")
            % {"machine": machine.name, "kind": changed},
            _("Take it out of use and add a new machine."),
        )
    if machine.pk and not machine.in_use:
        _must_be_empty(machine)
    if machine.kind in ONE_PERSON:
        machine.litres, machine.spin_g, machine.most_pieces = Decimal(0), 0, 1
    elif machine.kind in DRYING_PLACES:
        machine.litres, machine.spin_g, machine.turnaround = Decimal(0), 0, 0
        if not machine.most_pieces:
            raise Refused(
                "no_places",
                _("%(machine)s holds %(count)d pieces.") % {"machine": machine.name, "count": 0},
                _("Say how many pieces it holds at once."),
            )
    elif machine.litres <= 0:
        raise Refused(
            "no_drum",
            _("%(machine)s has %(litres)s litres of drum.")
            % {"machine": machine.name, "litres": machine.litres},
            _("Give the litres of its drum or basin."),
        )
    chosen = None if only is None else list(only)
    if chosen and (other := next((p for p in chosen if p.kind != machine.kind), None)):
        raise Refused(
            "other_kind",
            _("%(programme)s is a programme of another kind of machine.")
            % {"programme": other.name},
            _("Tick programmes of its own kind."),
        )
    with atomic_write():
        machine.save()
        known = Programme.objects.filter(kind=machine.kind).exists()
        if machine.kind not in NO_DRUM and not known:
            add_usual_programmes(MachineKind(machine.kind))
        if chosen is not None:
            machine.programmes.set(chosen)
    return machine


def _changed_kind(machine: Machine) -> str:
    old = Machine.objects.filter(pk=machine.pk).exclude(kind=machine.kind).first()
    return str(old.get_kind_display()) if old and old.loads.exists() else ""


def _must_be_empty(machine: Machine) -> None:
    open_load = machine.loads.filter(state__in=OPEN_LOADS).first()
    if open_load is not None:
        raise Refused(
            "machine_busy",
            _("%(machine)s has load %(load)d, which is not emptied.")
            % {"machine": machine.name, "load": open_load.pk},
            _("Finish or undo that load first."),
        )


def add_usual_programmes(kind: MachineKind) -> list[Programme]:
    """The programmes that machines of a kind commonly have; the shop corrects minutes and names."""
    usual = {
        MachineKind.WASHER: usual_programmes,
        MachineKind.HAND_SINK: sink_programmes,
        MachineKind.WET_CLEANER: wet_programmes,
        MachineKind.SOLVENT_P: lambda: solvent_programmes("P"),
        MachineKind.SOLVENT_F: lambda: solvent_programmes("F"),
        MachineKind.DRYER: dryer_programmes,
    }[kind]()
    return Programme.objects.bulk_create(
        Programme(
            kind=kind,
            key=pattern.key,
            name=pattern.key.replace("_", " ").capitalize(),
            max_c=0 if kind == MachineKind.DRYER else pattern.heat,
            tumble=TUMBLES[pattern.heat] if kind == MachineKind.DRYER else TUMBLES[2],
            action=ACTIONS[pattern.action],
            spin=SPINS[pattern.spin],
            minutes=pattern.minutes,
            litres_per_kg=Decimal(str(round(pattern.litres_per_kg, 1))),
        )
        for pattern in usual
    )


def save_programme(programme: Programme) -> Programme:
    """Change a programme, or add one; its key is made from its name."""
    if not programme.pk:
        programme.key = _free_key(programme)
    with atomic_write():
        programme.save()
    return programme


def _free_key(programme: Programme) -> str:
    stem = "_".join("".join(c if c.isalnum() else " " for c in programme.name.lower()).split())
    stem = stem.encode("ascii", "ignore").decode()[:32] or "programme"
    taken = set(Programme.objects.filter(kind=programme.kind).values_list("key", flat=True))
    numbers = (f"{stem}_{number}" for number in range(2, len(taken) + 3))
    return stem if stem not in taken else next(key for key in numbers if key not in taken)


def save_partner(partner: Partner) -> Partner:
    """Add or change a partner. Refused for days on which the shop is never open."""
    if not partner.services:
        raise Refused(
            "no_service",
            _("%(partner)s would take in nothing.") % {"partner": partner.name},
            _("Tick what the partner is for, or take the partner out of use."),
        )
    open_days = set(OpeningHours.objects.values_list("weekday", flat=True))
    for comes_back, days in ((False, partner.collect_days), (True, partner.return_days)):
        if days and open_days and not open_days & set(days):
            named = ", ".join(str(Weekday(day).label) for day in sorted(days))
            raise Refused(
                "partner_never",
                (
                    _("%(partner)s: brought back on %(days)s, when the shop is never open.")
                    if comes_back
                    else _("%(partner)s: picked up on %(days)s, when the shop is never open.")
                )
                % {"partner": partner.name, "days": named},
                _("Tick a day on which the shop is open."),
            )
    if partner.pk and not partner.in_use:
        _must_have_no_bag(partner)
    with atomic_write():
        partner.save()
    return partner


def _must_have_no_bag(partner: Partner) -> None:
    bag = partner.bags.filter(state__in=OPEN_LOADS).first()
    if bag is not None:
        raise Refused(
            "partner_busy",
            _("%(partner)s has bag %(load)d, which is not counted out.")
            % {"partner": partner.name, "load": bag.pk},
            _("Count it out or undo it first."),
        )


def set_crew_on(station: Station, people: Decimal, first: date, last: date) -> int:
    """Say how many people are at a station on each open day of a stretch, both ends included.

    As many as usual takes the day off the list. Returns the number of days that were set.
    """
    _refuse_impossible(station, people, first, last)
    calendar = read_calendar()
    stretch = [first + timedelta(days=ahead) for ahead in range((last - first).days + 1)]
    days = [day for day in stretch if calendar.open_on(day)]
    if not days:
        raise Refused(
            "closed_then",
            _("The shop is closed from %(first)s to %(last)s.")
            % {"first": first.isoformat(), "last": last.isoformat()},
            _("Name a day on which it works."),
        )
    usual = StationCrew.objects.filter(station=station).values_list("people", flat=True).first()
    with atomic_write():
        if people == (1 if usual is None else usual):
            CrewDay.objects.filter(station=station, day__in=days).delete()
        else:
            CrewDay.objects.bulk_create(
                [CrewDay(station=station, day=day, people=people) for day in days],
                update_conflicts=True,
                unique_fields=["day", "station"],
                update_fields=["people"],
            )
    return len(days)


def _refuse_impossible(station: Station, people: Decimal, first: date, last: date) -> None:
    if not (people.is_finite() and 0 <= people <= MOST_PEOPLE):
        raise Refused(
            "bad_crew",
            _("%(station)s: %(count)s people can't be reckoned with.")
            % {"station": station.label, "count": people},
            _("Write a number from 0 to %(most)d; half a person is 0.5.") % {"most": MOST_PEOPLE},
        )
    if first < business_day():
        raise Refused(
            "day_is_past",
            _("%(day)s is past.") % {"day": first.isoformat()},
            _("Name today or a day to come."),
        )
    if (last - business_day()).days > MOST_AHEAD:
        raise Refused(
            "day_too_far",
            _("%(day)s is too far off.") % {"day": last.isoformat()},
            _("Name a day of the next %(most)d at most.") % {"most": MOST_AHEAD},
        )
    if not 0 <= (last - first).days < MOST_DAYS:
        raise Refused(
            "bad_stretch",
            _("From %(first)s to %(last)s can't be.")
            % {"first": first.isoformat(), "last": last.isoformat()},
            _("Let it end on the day it begins or later, after %(most)d days at most.")
            % {"most": MOST_DAYS},
        )


def as_usual(crew_day_id: int) -> None:
    """Take a day off the list; one that is off already stays so."""
    with atomic_write():
        CrewDay.objects.filter(pk=crew_day_id).delete()


def set_weights(wanted: Mapping[str, int | None]) -> int:
    """Set the shop's weights; None goes back to the trade's figure. Returns how many changed.

    Pieces that are in the shop keep the weight they came with. All or nothing.
    """
    known = {entry.key: entry.name for entry in catalogue.kinds()}
    for kind, grams in wanted.items():
        if kind not in known:
            raise Refused(
                "unknown_kind",
                _("%(kind)s is no kind of piece.") % {"kind": kind},
                _("Choose one of the list."),
            )
        if grams is not None and not 1 <= grams <= HEAVIEST_G:
            raise Refused(
                "bad_weight",
                _("%(kind)s: %(grams)d g can't be its weight.")
                % {"kind": known[kind], "grams": grams},
                _("Write 1 to %(most)d grams, or leave it empty for the trade's figure.")
                % {"most": HEAVIEST_G},
            )
    changed = 0
    with atomic_write():
        own = shop_grams()
        for kind, grams in wanted.items():
            if grams == own.get(kind):
                continue
            changed += 1
            if grams is None:
                KindWeight.objects.filter(kind=kind).delete()
            else:
                KindWeight.objects.update_or_create(kind=kind, defaults={"grams": grams})
    return changed
