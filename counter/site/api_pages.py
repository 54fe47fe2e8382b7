"""The pages of every list of the API: counted ones, and ones that go on from the last row.

A list may grow for years. So no more rows are counted than people leaf through, and whoever
reads further goes on ``after`` the last row, which costs the same wherever it is.
"""

from __future__ import annotations

import binascii
import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Sequence
from math import ceil
from typing import Any

from django.core.exceptions import ValidationError as BadValue
from django.core.paginator import Paginator
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Model, QuerySet
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from rest_framework.exceptions import ValidationError
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import remove_query_param, replace_query_param
from rest_framework.views import APIView

from care_rules import JsonObject
from counter.site import queries, wording

MOST_COUNTED = 10_000
"""Rows of a list that are counted and can be leafed through by ``page``."""

_LONGEST_PLACE = 400


class CountedPages(Paginator):
    """Pages of a list that counts its first rows only. ``goes_on`` says that there are more."""

    @cached_property
    def _counted(self) -> int:
        rows = self.object_list
        if not isinstance(rows, QuerySet):
            return len(rows)
        return queries.counted_up_to(rows, MOST_COUNTED + 1)

    @property
    def count(self) -> int:
        return min(self._counted, MOST_COUNTED)

    @property
    def goes_on(self) -> bool:
        return self._counted > MOST_COUNTED

    @property
    def num_pages(self) -> int:
        return max(1, ceil(self.count / self.per_page))


class Pages(PageNumberPagination):
    """``page`` from 1 and ``page_size`` up to 200; more is cut to 200. ``after`` goes on from the
    place that ``next`` names, without counting."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200
    django_paginator_class = CountedPages
    invalid_page_message = wording.NO_SUCH_PAGE  # type: ignore[assignment]

    def get_page_size(self, request: Request) -> int | None:
        given = request.query_params.get("page_size")
        if given is None:
            return self.page_size
        if not (given.isascii() and given.isdigit() and 0 < len(given) < 10 and int(given) > 0):
            raise ValidationError({"page_size": [_("Write a whole number from 1 to 200.")]})
        return min(int(given), self.max_page_size)

    def paginate_queryset(
        self, queryset: Any, request: Request, view: APIView | None = None
    ) -> list[Any] | None:
        self.rows: Any = queryset
        self.place = request.query_params.get("after")
        if self.place is None:
            return super().paginate_queryset(queryset, request, view)
        if not isinstance(queryset, QuerySet):
            raise ValidationError({"after": [_("This list is short: leaf through it by page.")]})
        self.request = request
        size = self.get_page_size(request) or self.page_size
        rows = list((_after(queryset, self.place) if self.place else queryset)[: size + 1])
        self.shown, self.goes_on = rows[:size], len(rows) > size
        return self.shown

    def get_paginated_response(self, data: Any) -> Response:
        if self.place is None:
            assert self.page is not None
            pages = self.page.paginator
            assert isinstance(pages, CountedPages)
            following = self.get_next_link()
            if following is None and pages.goes_on:
                following = self._link_after(self.page.object_list[-1])
            count = None if pages.goes_on else pages.count
            previous = self.get_previous_link()
        else:
            following = self._link_after(self.shown[-1]) if self.goes_on else None
            count = previous = None
        return Response({"count": count, "next": following, "previous": previous, "results": data})

    def get_paginated_response_schema(self, schema: JsonObject) -> JsonObject:
        shape: JsonObject = super().get_paginated_response_schema(schema)
        shape["properties"]["count"] |= {
            "nullable": True,
            "description": (
                f"How many there are; null for more than {MOST_COUNTED} and on pages by `after`."
            ),
        }
        return shape

    def get_schema_operation_parameters(self, view: APIView) -> list[JsonObject]:
        after = {
            "name": "after",
            "required": False,
            "in": "query",
            "description": "Go on after this place, as `next` names it; empty starts at the first.",
            "schema": {"type": "string", "maxLength": _LONGEST_PLACE},
        }
        return [*super().get_schema_operation_parameters(view), after]

    def _link_after(self, row: Model) -> str:
        assert self.request is not None
        address = remove_query_param(self.request.build_absolute_uri(), "page")
        return replace_query_param(address, "after", place_of(row, self.rows))


def place_of(row: Model, rows: QuerySet[Any]) -> str:
    values = [getattr(row, name) for name, _falls in queries.order_of(rows)]
    text = json.dumps(values, cls=_Exact, separators=(",", ":"))
    return urlsafe_b64encode(text.encode()).decode().rstrip("=")


class _Exact(DjangoJSONEncoder):
    """Moments to the microsecond, else rows of one millisecond would be shown twice."""

    def default(self, o: Any) -> Any:
        return o.isoformat() if hasattr(o, "isoformat") else super().default(o)


def _after(rows: QuerySet[Any], place: str) -> QuerySet[Any]:
    """The rows behind a place in the list's own order; ``ValidationError`` for none."""
    names = [name for name, _falls in queries.order_of(rows)]
    return queries.rows_after(rows, _values_at(rows, place, names))


def _values_at(rows: QuerySet[Any], place: str, names: Sequence[str]) -> list[Any]:
    fault = ValidationError({"after": [wording.no_place_in_list()]})
    if len(place) > _LONGEST_PLACE:
        raise fault
    try:
        values = json.loads(urlsafe_b64decode(place + "=" * (-len(place) % 4)))
        if not isinstance(values, list) or len(values) != len(names):
            raise fault
        fields = [
            rows.model._meta.pk if name == "pk" else rows.model._meta.get_field(name)
            for name in names
        ]
        read = [field.to_python(value) for field, value in zip(fields, values, strict=True)]
        for field, value in zip(fields, read, strict=True):
            field.run_validators(value)
    except (ValueError, TypeError, OverflowError, binascii.Error, BadValue):
        raise fault from None
    if any(value is None for value in read):
        raise fault
    return read
