"""The filters of the list of loads."""

from __future__ import annotations

from django.db.models import Q, QuerySet
from django_filters import FilterSet
from rest_framework import serializers

from tickets.api.filters import ReadFilter, YesNoFilter
from tickets.api.shapes import MOST_ID
from tickets.choices import Station
from tickets.models import Load
from tickets.models.machines import OPEN_LOADS, LoadState


class LoadFilters(FilterSet):
    station = ReadFilter(serializers.ChoiceField(Station.choices))
    state = ReadFilter(serializers.ChoiceField(LoadState.choices))
    open = YesNoFilter("are_open", "being filled, closed, running, or not yet emptied")
    machine = ReadFilter(serializers.IntegerField(min_value=1, max_value=MOST_ID))

    def are_open(self, loads: QuerySet[Load], _name: str, yes: bool) -> QuerySet[Load]:
        open_state = Q(state__in=OPEN_LOADS)
        return loads.filter(open_state if yes else ~open_state)
