"""What every operation of the API that changes something shares: a checked body, and once only.

A request names its one-time key in the header ``Idempotency-Key`` or in the field ``client_key``.
The first request is answered with 201; the same one again writes nothing and is answered with 200.
A key that already stands for something else is refused.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any, TypeAlias, TypeVar

from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiParameter,
    OpenApiResponse,
    extend_schema,
    extend_schema_view,
)
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer
from rest_framework.views import APIView

from care_rules import JsonObject
from tickets.acting import Act, act_of
from tickets.api.shapes import WRITING, OnceSerializer
from tickets.errors import Refused

ONE_TIME_KEY = OpenApiParameter(
    "Idempotency-Key",
    OpenApiTypes.UUID,
    OpenApiParameter.HEADER,
    description="One-time key of this request; the field client_key does the same.",
)
KNOWN = "The key was known; nothing new was written."

Validated: TypeAlias = JsonObject
"""What a serializer took: field -> value, checked and in its own type."""

_View = TypeVar("_View", bound="type[OnceView]")
_Row = TypeVar("_Row")


class OnceView(APIView):
    """A POST that does one thing once. A subclass says what in ``done``."""

    takes: type[OnceSerializer] = OnceSerializer
    done: Callable[..., Response]  # takes the checked data, the act and the parts of the address

    def post(self, request: Request, **place: object) -> Response:
        data = checked(self.takes, request.data)
        return self.done(data, keyed_act(request, data), **place)


def once(
    operation_id: str,
    takes: type[OnceSerializer],
    gives: type[BaseSerializer[_Row]],
    *place: OpenApiParameter,
) -> Callable[[_View], _View]:
    """Set and document the body and the answers of a ``OnceView``; ``place`` is its address."""

    def describe(view: _View) -> _View:
        view.takes = takes
        operation = extend_schema(
            operation_id=operation_id,
            parameters=[*place, ONE_TIME_KEY],
            request=takes,
            responses={201: gives, 200: OpenApiResponse(gives, KNOWN), **WRITING},
        )
        return extend_schema_view(post=operation)(view)

    return describe


def checked(shape: type[BaseSerializer[_Row]], sent: object) -> Validated:
    """The fields of a body or of a query, or one ``ValidationError`` with every fault."""
    try:
        data: Validated = kept(shape).run_validation(sent)
    except ValidationError:
        shape(data=sent).is_valid(raise_exception=True)  # words a fault of the whole as well
        raise
    return data


_serializers: dict[object, BaseSerializer[Any]] = {}


def kept(shape: type[BaseSerializer[_Row]]) -> BaseSerializer[_Row]:
    """One serializer of a class for all calls: it keeps nothing of what it reads or writes, and
    to make one costs more than to use it."""
    if shape not in _serializers:
        _serializers[shape] = shape()
    return _serializers[shape]


def one_time_key(request: Request, given: uuid.UUID | None) -> uuid.UUID:
    """The key from the header or the field; one of them must be there."""
    header = request.headers.get("Idempotency-Key", "").strip().strip('"')
    if header:
        try:
            named = uuid.UUID(header)
        except ValueError:
            raise ValidationError(
                {"Idempotency-Key": [_("%(value)s is not a UUID.") % {"value": header[:60]}]}
            ) from None
        if given is not None and given != named:
            raise ValidationError({"client_key": [_("It differs from the header's key.")]})
        return named
    if given is None:
        raise ValidationError(
            {"client_key": [_("Send a fresh UUID, so that a repeat does nothing twice.")]}
        )
    return given


def keyed_act(request: Request, data: Validated) -> Act:
    """The act of a request that is done once: its device and its key are in what was sent."""
    key = one_time_key(request, data.get("client_key"))
    return act_of(request, data.get("device", ""), str(key))


def key_used(what: str) -> Refused:
    """The refusal of a key that stands for something else."""
    return Refused(
        "key_used",
        _("This key already stands for something else: %(what)s") % {"what": what},
        _("Send a fresh key for a new request."),
    )
