"""What the shop is made of, as the owner told it: read from the database, once for each need."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta

from django.db.models import Exists, OuterRef, QuerySet, Sum

from tickets.choices import CLOSED_STATES, Station
from tickets.models import (
    ClosedDay,
    CrewDay,
    KindWeight,
    Load,
    Machine,
    MachineKind,
    OpeningHours,
    Partner,
    PartnerService,
    Programme,
    RackPlace,
    RouteStep,
    StationCrew,
)
from tickets.models.machines import DRYING_PLACES, NO_DRUM, OPEN_LOADS
from tickets.shop import minutes
from tickets.shop.calendar import ShopCalendar, business_day
from tickets.shop.crews import MOST_AHEAD, Crews, working_minutes
from tickets.shop.drying_places import Places, place_for
from tickets.shop.machines import Machinery
from tickets.shop.rounds import Round
from tickets.shop.weights import trade_grams

_LONGEST_DRYING = timedelta(days=3)
"""Nothing dries longer by the planning figures; older steps need not be read."""


def read_calendar() -> ShopCalendar:
    """The calendar of this shop: three queries."""
    rows = list(OpeningHours.objects.all())
    return ShopCalendar(
        hours={row.weekday: (row.opens, row.closes) for row in rows},
        closed=frozenset(ClosedDay.objects.values_list("day", flat=True)),
        breaks={
            row.weekday: (row.break_from, row.break_until)
            for row in rows
            if row.break_from and row.break_until
        },
        cut_offs={row.weekday: row.cut_off for row in rows if row.cut_off},
        rounds=tuple(Round.of(row) for row in Partner.objects.filter(in_use=True)),
    )


def read_machinery(station: Station, now: datetime) -> Machinery:
    """Machines and programmes in use: three queries, and one for the open loads."""
    machines = Machine.objects.exclude(kind__in=DRYING_PLACES).prefetch_related("programmes")
    loads = Load.objects.filter(station=station, state__in=OPEN_LOADS)
    return Machinery(
        station,
        now,
        machines=list(machines),
        programmes=Programme.objects.filter(in_use=True),
        loads=loads.select_related("machine", "programme").order_by("pk"),
    )


def crews_since(first: date) -> Crews:
    """The usual crew, and every day from then on that has another one.

    Two people for 120 minutes of a day of 480 work as half a person does all day. The day is the
    mean of the week's working days, breaks left out. Three queries, two where nobody's minutes
    are told.
    """
    rows = {row.station: row for row in StationCrew.objects.all()}
    any_part_time = any(row.minutes_a_day for row in rows.values())
    whole = working_minutes(OpeningHours.objects.all()) if any_part_time else 0.0
    part = {station: _share(row.minutes_a_day, whole) for station, row in rows.items()}
    days: dict[date, dict[str, float]] = defaultdict(dict)
    last = business_day() + timedelta(days=MOST_AHEAD)
    for other in CrewDay.objects.filter(day__gte=first, day__lte=last):
        days[other.day][other.station] = float(other.people) * part.get(other.station, 1.0)
    return Crews({s: float(row.people) * part[s] for s, row in rows.items()}, dict(days))


def _share(minutes: int | None, day: float) -> float:
    return min(1.0, minutes / day) if minutes and day else 1.0


def place_counts() -> dict[str, int]:
    """Kind -> places in use. A kind the shop told nothing of is not counted: it never runs out."""
    rows = Machine.objects.filter(kind__in=DRYING_PLACES, in_use=True).order_by()
    return dict(rows.values_list("kind").annotate(total=Sum("most_pieces")))


def places_now(now: datetime, counts: Mapping[str, int] | None = None) -> list[Places]:
    """The drying places with what is on them: two queries, one where the shop told of none.

    ``counts``: kind -> places, from whoever has read the machines already, which saves one.
    """
    counts = place_counts() if counts is None else counts
    if not counts:
        return []
    ends = drying(now)
    return [
        Places(MachineKind(kind), counts[kind], tuple(sorted(ends[kind])))
        for kind in DRYING_PLACES
        if kind in counts
    ]


def drying(now: datetime) -> dict[str, list[datetime]]:
    """Kind -> when each piece that hangs or lies there now will be dry: one query."""
    ends: dict[str, list[datetime]] = defaultdict(list)
    for settings, done_at in _hung_up(now).values_list("settings", "done_at"):
        assert done_at is not None  # the steps are those done
        kind = place_for("dry", settings)
        until = done_at + timedelta(minutes=minutes.waits_by_settings("dry", settings))
        if kind and until > now:
            ends[kind].append(until)
    return ends


def _hung_up(now: datetime) -> QuerySet[RouteStep]:
    """Drying steps done lately, of pieces on which nothing was done since."""
    later = RouteStep.objects.filter(
        piece=OuterRef("piece"), order__gt=OuterRef("order"), done_at__isnull=False, minutes__gt=0
    )
    return RouteStep.objects.filter(
        ~Exists(later),
        step="dry",
        station=Station.DRY,
        done_at__gt=now - _LONGEST_DRYING,
        piece__ticket__closed_at__isnull=True,
    ).exclude(piece__state__in=CLOSED_STATES)


def sent_out_for() -> list[str]:
    """What partners in use take in, in the order of the care engine: the shop's abilities."""
    taken = {offered for services in _services_in_use() for offered in services}
    return [service.value for service in PartnerService if service in taken]


def all_programmes() -> QuerySet[Programme]:
    """Every programme, by kind of machine, the hottest first; some may be out of use."""
    return Programme.objects.all()


def has_loads() -> bool:
    """Whether the shop has a machine with a drum or a partner in use, so that it makes loads."""
    drums = Machine.objects.filter(in_use=True).exclude(kind__in=NO_DRUM)
    return drums.exists() or Partner.objects.filter(in_use=True).exists()


def rack_places() -> QuerySet[RackPlace]:
    """Rack places in use, in the order of the rack."""
    return RackPlace.objects.filter(in_use=True)


def _services_in_use() -> Iterable[list[str]]:
    return Partner.objects.filter(in_use=True).values_list("services", flat=True)


def shop_grams() -> dict[str, int]:
    """Kind -> grams that the shop set for itself: one query."""
    return dict(KindWeight.objects.values_list("kind", "grams"))


def usual_weights() -> dict[str, int]:
    """Kind -> grams of a piece that nobody weighed: one query. A kind without any is ``other``."""
    return trade_grams() | shop_grams()
