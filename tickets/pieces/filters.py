"""The filters of the list of pieces."""

from __future__ import annotations

from django.db.models import QuerySet
from django.utils import timezone
from django_filters import FilterSet
from rest_framework import serializers

from tickets.api.filters import ReadFilter, YesNoFilter
from tickets.api.shapes import MOST_ID
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.models import Piece
from tickets.tracking.queries import late_pieces


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

    def are_open(self, pieces: QuerySet[Piece], _name: str, yes: bool) -> QuerySet[Piece]:
        closed = {"state__in": CLOSED_STATES}
        return pieces.exclude(**closed) if yes else pieces.filter(**closed)

    def are_late(self, pieces: QuerySet[Piece], _name: str, yes: bool) -> QuerySet[Piece]:
        late = late_pieces(timezone.now()).order_by().values("pk")
        return pieces.filter(pk__in=late) if yes else pieces.exclude(pk__in=late)
