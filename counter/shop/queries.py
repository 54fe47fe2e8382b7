"""What the owner's tables hold, read for their pages."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db.models import Count, QuerySet

from counter.models import PriceItem
from counter.roles import OWNER
from tickets.models import (
    ClosedDay,
    CrewDay,
    Machine,
    OpeningHours,
    Partner,
    Programme,
    RackPlace,
    StationCrew,
)
from tickets.shop.calendar import business_day


def machines() -> QuerySet[Machine]:
    return Machine.objects.prefetch_related("programmes")


def programmes_of(kind: str) -> QuerySet[Programme]:
    """The programmes of one kind of machine."""
    return Programme.objects.filter(kind=kind)


def programme_with(pk: int) -> Programme | None:
    """A programme by its key; None for none."""
    return Programme.objects.filter(pk=pk).first()


def machine_with(pk: int) -> Machine | None:
    """A machine by its key; None for none."""
    return Machine.objects.filter(pk=pk).first()


def partner_with(pk: int) -> Partner | None:
    """A partner by its key; None for none."""
    return Partner.objects.filter(pk=pk).first()


def partners() -> QuerySet[Partner]:
    return Partner.objects.order_by("-in_use", "name")


def places() -> list[tuple[RackPlace, int]]:
    """With how many pieces hang there."""
    places = RackPlace.objects.annotate(hanging=Count("pieces")).order_by("code")
    return [(place, place.hanging) for place in places]


def crew_days_to_come() -> list[tuple[CrewDay, Decimal]]:
    """With the station's usual number beside that of the day."""
    usual = dict(StationCrew.objects.values_list("station", "people"))
    days = CrewDay.objects.filter(day__gte=business_day())
    return [(row, usual.get(row.station, Decimal(1))) for row in days]


# Opening and crews


def hours_by_weekday() -> dict[int, OpeningHours]:
    """Opening hours of the days on which the shop opens; 0 is Monday."""
    return {row.weekday: row for row in OpeningHours.objects.all()}


def closed_days_to_come() -> QuerySet[ClosedDay]:
    """Closed days from today on."""
    return ClosedDay.objects.filter(day__gte=business_day())


def closed_days() -> set[date]:
    """Every day on which the shop is closed, past ones too."""
    return set(ClosedDay.objects.values_list("day", flat=True))


def crews_by_station() -> dict[str, StationCrew]:
    """The usual crews that the owner told, by station."""
    return {row.station: row for row in StationCrew.objects.all()}


# Prices


def amounts_by_key() -> dict[tuple[str, str, str], Decimal]:
    """The price list: amounts by service, kind and operation."""
    return {(row.service, row.kind, row.work): row.amount for row in PriceItem.objects.all()}


# People


def all_staff() -> QuerySet[User]:
    """Everybody who ever worked here, those of now first, with roles and PINs."""
    people = User.objects.order_by("-is_active", "first_name", "username")
    return people.prefetch_related("groups").select_related("staff_profile")


def person_with(pk: int) -> User | None:
    """A member of staff with the roles; None for none."""
    return User.objects.prefetch_related("groups").filter(pk=pk).first()


def name_taken(username: str) -> bool:
    """Whether somebody signs in by this name, in capitals or not."""
    return User.objects.filter(username__iexact=username).exists()


def owners() -> Sequence[User]:
    """People who can open the owner's pages."""
    return list(User.objects.filter(is_active=True, groups__name=OWNER).distinct())
