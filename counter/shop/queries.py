"""What the owner's tables hold, read for their pages."""

from __future__ import annotations

from decimal import Decimal

from django.db.models import Count, QuerySet

from tickets.models import CrewDay, Machine, Partner, Programme, RackPlace, StationCrew
from tickets.shop.calendar import business_day


def machines() -> QuerySet[Machine]:
    return Machine.objects.prefetch_related("programmes")


def programmes() -> QuerySet[Programme]:
    return Programme.objects.all()


def partners() -> QuerySet[Partner]:
    return Partner.objects.order_by("-in_use", "name")


def places() -> list[tuple[RackPlace, int]]:
    """With how many pieces hang there."""
    places = RackPlace.objects.annotate(hanging=Count("pieces"))
    return [(place, place.hanging) for place in places]


def crew_days_to_come() -> list[tuple[CrewDay, Decimal]]:
    """With the station's usual number beside that of the day."""
    usual = dict(StationCrew.objects.values_list("station", "people"))
    days = CrewDay.objects.filter(day__gte=business_day())
    return [(row, usual.get(row.station, Decimal(1))) for row in days]
