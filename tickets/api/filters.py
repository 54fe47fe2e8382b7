"""What the filters of every list of the API share: which value is read how, and what is refused.

A room's lists name their filters in its ``filters.py``. A value is read, refused and described by
a field of the API, so that a query and a body are answered alike.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TypeVar

import django_filters
from django import forms
from django.db.models import Model, QuerySet
from django_filters.rest_framework import DjangoFilterBackend
from django_filters.utils import translate_validation
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.views import APIView

from care_rules import JsonObject
from tickets.api.shapes import choices_told, unknown_names

PAGES = ("page", "page_size", "after")
"""What each list reads of a query beside its filters."""

_Row = TypeVar("_Row", bound=Model)


class StrictFilters(DjangoFilterBackend):
    """Applies a view's ``filterset_class``. A name that is not known is refused, never passed
    over; a list without filters knows only its pages."""

    def filter_queryset(
        self, request: Request, queryset: QuerySet[_Row], view: APIView
    ) -> QuerySet[_Row]:
        filterset = self.get_filterset(request, queryset, view)
        names: Collection[str] = () if filterset is None else filterset.filters
        faults: JsonObject = {}
        if filterset is not None and not filterset.is_valid():
            faults = translate_validation(filterset.errors).detail
        faults = {**faults, **unknown_names(request.query_params, (*names, *PAGES))}
        if faults:
            raise serializers.ValidationError(faults)
        filtered: QuerySet[_Row] = queryset if filterset is None else filterset.qs
        return filtered


class _ReadField(forms.Field):
    def __init__(self, *, reader: serializers.Field, **kwargs: object) -> None:
        super().__init__(**kwargs)  # type: ignore[arg-type]  # what the library passes on
        self.reader = reader

    def to_python(self, value: object) -> object:
        if value in self.empty_values:
            return None
        try:
            return self.reader.run_validation(value)
        except serializers.ValidationError as error:
            raise forms.ValidationError(
                [
                    # The words may hold what was sent, and with it a per cent sign.
                    forms.ValidationError("%(says)s", detail.code, {"says": detail})
                    for detail in choices_told(self.reader, error.detail)
                ]
            ) from error


class ReadFilter(django_filters.Filter):
    """A filter whose value ``reader`` reads; left out or empty, it lists all."""

    field_class = _ReadField

    def __init__(
        self, reader: serializers.Field, path: str | None = None, method: str | None = None
    ) -> None:
        super().__init__(path, method=method, reader=reader)
        extend_schema_field(reader)(self)


class YesNoFilter(ReadFilter):
    """true or false, by the method of its filter set; left out, both are listed."""

    def __init__(self, method: str, help_text: str) -> None:
        reader = serializers.BooleanField(allow_null=True, default=None, help_text=help_text)
        super().__init__(reader, method=method)
