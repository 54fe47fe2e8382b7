"""The care decision over the API: facts in, decision out, nothing stored."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

import care_rules
from care_rules import FactsError, Fault
from tickets import house_book
from tickets.api.facts import DECISION, FACTS, MOST_AT_ONCE, one_or_many
from tickets.api.shapes import errors


class Decide(APIView):
    @extend_schema(
        operation_id="decide",
        request={"application/json": one_or_many(FACTS)},
        responses={
            (200, "application/json"): one_or_many(DECISION),
            **errors(400, 413, 415),
        },
    )
    def post(self, request: Request) -> Response:
        """The care decision for facts; an array of them gives an array. Nothing is stored."""
        if not isinstance(request.data, list):
            return Response(
                care_rules.decide_json(_facts(request.data, "body"), house_book.current())
            )
        if not 1 <= len(request.data) <= MOST_AT_ONCE:
            raise ValidationError(
                [_("Send 1 to %(most)d pieces at once.") % {"most": MOST_AT_ONCE}]
            )
        return Response(decide_each(request.data, lambda index: f"[{index}]"))


def decide_each(pieces: list[Any], path: Callable[[int], str]) -> list[dict[str, Any]]:
    """Decisions for all pieces, or one FactsError with every fault of every piece."""
    decisions, faults = [], list[Fault]()
    house_rules = house_book.current()
    for index, facts in enumerate(pieces):
        try:
            decisions.append(care_rules.decide_json(_facts(facts, path(index)), house_rules))
        except FactsError as error:
            faults += [
                Fault(_under(path(index), fault.field), fault.value, fault.cure)
                for fault in error.faults
            ]
    if faults:
        raise FactsError(faults)
    return decisions


def _under(path: str, field: str) -> str:
    return field if field.startswith(path) else f"{path}.{field}"


def _facts(value: Any, path: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise FactsError([Fault(path, value, _("Send an object of facts."))])
    return value
