"""The filters of the list of loads."""

from __future__ import annotations

from django.db.models import QuerySet
from django_filters import FilterSet
from rest_framework import serializers

from tickets.api.filters import ReadFilter, YesNoFilter
from tickets.api.shapes import MOST_ID
from tickets.choices import Station
from tickets.loads.queries import narrowed_to_open_loads
from tickets.models import Load
from tickets.models.machines import LoadState


class LoadFilters(FilterSet):
    station = ReadFilter(serializers.ChoiceField(Station.choices))
    state = ReadFilter(serializers.ChoiceField(LoadState.choices))
    open = YesNoFilter("are_open", "being filled, closed, running, or not yet emptied")
    machine = ReadFilter(serializers.IntegerField(min_value=1, max_value=MOST_ID))

    def are_open(self, loads: QuerySet[Load], _name: str, yes: bool) -> QuerySet[Load]:
        return narrowed_to_open_loads(loads, yes)
