"""The filters of the list of pieces."""

from __future__ import annotations

from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone
from django_filters import FilterSet
from rest_framework import serializers

from tickets.api.filters import ReadFilter, YesNoFilter
from tickets.api.shapes import MOST_ID
from tickets.choices import PieceState, Station
from tickets.models import Piece
from tickets.pieces import queries


class PieceFilters(FilterSet):
    station = ReadFilter(serializers.ChoiceField(Station.choices))
    state = ReadFilter(serializers.ChoiceField(PieceState.choices))
    open = YesNoFilter("are_open", "still in the shop")
    late = YesNoFilter("are_late", "open and not ready after its promised moment")
    ticket = ReadFilter(
        serializers.IntegerField(min_value=1, max_value=9_999_999), "ticket__number"
    )
    customer = ReadFilter(
        serializers.IntegerField(min_value=1, max_value=MOST_ID), "ticket__customer"
    )
    promise_day = ReadFilter(serializers.DateField(), "ticket__promise_day")
    updated_since = ReadFilter(
        serializers.DateTimeField(help_text="opened or moved at this moment or later"),
        method="were_moved",
    )

    def are_open(self, pieces: QuerySet[Piece], _name: str, yes: bool) -> QuerySet[Piece]:
        return queries.narrowed_to_open(pieces, yes)

    def were_moved(self, pieces: QuerySet[Piece], _name: str, since: datetime) -> QuerySet[Piece]:
        return queries.narrowed_to_moved(pieces, since)

    def are_late(self, pieces: QuerySet[Piece], _name: str, yes: bool) -> QuerySet[Piece]:
        return queries.narrowed_to_late(pieces, timezone.now(), yes)
