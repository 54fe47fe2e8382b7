"""The filters of the list of tickets."""

from __future__ import annotations

from django.db.models import Q, QuerySet
from django.utils import timezone
from django_filters import FilterSet
from rest_framework import serializers

from counter.customers.filters import SearchFilter
from counter.intake.shapes import STATES
from tickets.api.filters import ReadFilter, YesNoFilter
from tickets.api.shapes import MOST_ID
from tickets.garments.customers import find_customers
from tickets.models import Ticket

_OF_STATE = {
    "open": Q(ready_at__isnull=True, closed_at__isnull=True),
    "ready": Q(ready_at__isnull=False, closed_at__isnull=True),
    "closed": Q(closed_at__isnull=False),
}


class TicketFilters(FilterSet):
    state = ReadFilter(serializers.ChoiceField(STATES), method="of_state")
    open = YesNoFilter("are_open", "still in the shop, ready or not")
    late = YesNoFilter("are_late", "neither ready nor closed after its promised moment")
    customer = ReadFilter(
        serializers.IntegerField(min_value=1, max_value=MOST_ID, help_text="the customer's id")
    )
    search = SearchFilter("of_people_found")
    promise_day = ReadFilter(serializers.DateField())
    number = ReadFilter(serializers.IntegerField(min_value=1, max_value=9_999_999))

    def of_state(self, tickets: QuerySet[Ticket], _name: str, state: str) -> QuerySet[Ticket]:
        return tickets.filter(_OF_STATE[state])

    def are_open(self, tickets: QuerySet[Ticket], _name: str, yes: bool) -> QuerySet[Ticket]:
        return tickets.filter(closed_at__isnull=yes)

    def are_late(self, tickets: QuerySet[Ticket], _name: str, yes: bool) -> QuerySet[Ticket]:
        late = _OF_STATE["open"] & Q(promised_at__lt=timezone.now())
        return tickets.filter(late if yes else ~late)

    def of_people_found(self, tickets: QuerySet[Ticket], _name: str, text: str) -> QuerySet[Ticket]:
        people = find_customers(text, limit=None)
        return tickets.filter(customer__in=people.order_by().values("pk"))
