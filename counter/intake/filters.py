"""The filters of the list of tickets."""

from __future__ import annotations

from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone
from django_filters import FilterSet
from rest_framework import serializers

from counter.customers.filters import SearchFilter
from counter.intake import queries
from counter.intake.shapes import STATES
from tickets.api.filters import ReadFilter, YesNoFilter
from tickets.api.shapes import MOST_ID
from tickets.models import Ticket


class TicketFilters(FilterSet):
    state = ReadFilter(serializers.ChoiceField(STATES), method="of_state")
    open = YesNoFilter("are_open", "still in the shop, ready or not")
    late = YesNoFilter("are_late", "neither ready nor closed after its promised moment")
    customer = ReadFilter(
        serializers.IntegerField(min_value=1, max_value=MOST_ID, help_text="the customer's id")
    )
    search = SearchFilter("of_people_found")
    promise_day = ReadFilter(serializers.DateField())
    updated_since = ReadFilter(
        serializers.DateTimeField(
            help_text="opened, paid, with a piece moved, or of a customer whose own facts were "
            "changed, at this moment or later"
        ),
        method="of_changed",
    )
    number = ReadFilter(serializers.IntegerField(min_value=1, max_value=9_999_999))

    def of_state(self, tickets: QuerySet[Ticket], _name: str, state: str) -> QuerySet[Ticket]:
        return queries.narrowed_to_state(tickets, state)

    def are_open(self, tickets: QuerySet[Ticket], _name: str, yes: bool) -> QuerySet[Ticket]:
        return queries.narrowed_to_here(tickets, yes)

    def are_late(self, tickets: QuerySet[Ticket], _name: str, yes: bool) -> QuerySet[Ticket]:
        return queries.narrowed_to_unready(tickets, timezone.now(), yes)

    def of_changed(
        self, tickets: QuerySet[Ticket], _name: str, since: datetime
    ) -> QuerySet[Ticket]:
        return queries.narrowed_to_changed(tickets, since)

    def of_people_found(self, tickets: QuerySet[Ticket], _name: str, text: str) -> QuerySet[Ticket]:
        return queries.narrowed_to_people(tickets, text)
