"""The filters of the list of customers, and the search that finds them as the pages do."""

from __future__ import annotations

from django.db.models import QuerySet
from django_filters import FilterSet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from counter.customers.queries import narrowed_to_found
from tickets.api.filters import ReadFilter
from tickets.models import Customer

_LONGEST_SEARCH = 120
_SEARCH = {
    "type": "string",
    "minLength": 1,
    "maxLength": _LONGEST_SEARCH,
    "description": "last digits of the customer's phone (three or more), or the start of words "
    "of the name (two letters or more)",
}


class SearchFilter(ReadFilter):
    """Words or digits that ``find_customers`` takes, by the method of its filter set."""

    def __init__(self, method: str) -> None:
        super().__init__(serializers.CharField(max_length=_LONGEST_SEARCH), method=method)
        extend_schema_field(_SEARCH)(self)  # a lone text would be described without its length


class CustomerFilters(FilterSet):
    search = SearchFilter("found")

    def found(self, customers: QuerySet[Customer], _name: str, text: str) -> QuerySet[Customer]:
        return narrowed_to_found(customers, text)
