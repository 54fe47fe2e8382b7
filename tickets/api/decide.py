"""The care decision over the API: facts in, decision out, nothing stored."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

import care_rules
from care_rules import Decision, FactsError, Fault, JsonMapping, JsonObject
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
            facts = care_rules.parse_facts(_facts(request.data, "body"))
            return Response(care_rules.decide(facts, house_book.current()).as_json())
        if not 1 <= len(request.data) <= MOST_AT_ONCE:
            raise ValidationError(
                [_("Send 1 to %(most)d pieces at once.") % {"most": MOST_AT_ONCE}]
            )
        decisions = decide_each(request.data, lambda index: f"[{index}]")
        return Response([decision.as_json() for decision in decisions])


def decide_each(pieces: Sequence[object], path: Callable[[int], str]) -> list[Decision]:
    """Decisions for all pieces, or one FactsError with every fault of every piece."""
    decisions, faults = [], list[Fault]()
    house_rules = house_book.current()
    for index, facts in enumerate(pieces):
        try:
            known = care_rules.parse_facts(_facts(facts, path(index)))
            decisions.append(care_rules.decide(known, house_rules))
        except FactsError as error:
            faults += [
                Fault(_under(path(index), fault.field), fault.value, fault.cure)
                for fault in error.faults
            ]
    if faults:
        raise FactsError(faults)
    return decisions


def faults_of_each(pieces: Sequence[JsonMapping], path: Callable[[int], str]) -> list[Fault]:
    """What can't be read of the facts of all pieces, without deciding on any."""
    faults: list[Fault] = []
    for index, facts in enumerate(pieces):
        try:
            care_rules.parse_facts(facts)
        except FactsError as error:
            faults += [
                Fault(_under(path(index), fault.field), fault.value, fault.cure)
                for fault in error.faults
            ]
    return faults


def _under(path: str, field: str) -> str:
    return field if field.startswith(path) else f"{path}.{field}"


def _facts(value: object, path: str) -> JsonObject:
    if not isinstance(value, dict):
        raise FactsError([Fault(path, value, _("Send an object of facts."))])
    return value
