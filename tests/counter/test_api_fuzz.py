"""Whatever is sent, the API keeps to its own document: no crash, no answer the document lacks.

Requests are made from the OpenAPI document by an independent library, half of them valid by the
document and half broken on purpose, and sent through the whole WSGI application.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
import schemathesis
from django.contrib.auth.models import User
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from rest_framework.authtoken.models import Token
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from counter.wsgi import application
from tests import building

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
EXAMPLES = 40
OPERATIONS = [
    "POST /api/v1/token/",
    "GET /api/v1/customers/",
    "POST /api/v1/customers/",
    "GET /api/v1/customers/{id}/",
    "PATCH /api/v1/customers/{id}/",
    "GET /api/v1/tickets/",
    "POST /api/v1/tickets/",
    "GET /api/v1/tickets/{number}/",
    "POST /api/v1/tickets/{number}/complete/",
    "POST /api/v1/tickets/{number}/payments/",
    "GET /api/v1/pickups/{number}/",
    "POST /api/v1/pickups/{number}/",
    "GET /api/v1/pieces/",
    "GET /api/v1/pieces/{code}/",
    "POST /api/v1/pieces/{code}/hold/",
    "POST /api/v1/pieces/{code}/release/",
    "POST /api/v1/pieces/{code}/redo/",
    "POST /api/v1/pieces/{code}/return/",
    "POST /api/v1/scan/",
    "GET /api/v1/boards/",
    "GET /api/v1/boards/{station}/",
    "GET /api/v1/boards/{station}/loads/",
    "GET /api/v1/loads/",
    "POST /api/v1/loads/",
    "GET /api/v1/loads/{load}/",
    "POST /api/v1/loads/{load}/in/",
    "POST /api/v1/loads/{load}/off/",
    "POST /api/v1/loads/{load}/out/",
    "POST /api/v1/loads/{load}/never-in/",
    "POST /api/v1/loads/{load}/close/",
    "POST /api/v1/loads/{load}/start/",
    "POST /api/v1/loads/{load}/finish/",
    "POST /api/v1/loads/{load}/undo/",
    "POST /api/v1/decide/",
]


@pytest.fixture(autouse=True)
def _one_connection() -> Iterator[None]:
    """Each request would close the connection that holds the test's own transaction."""
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    yield
    for signal in signals:
        signal.connect(close_old_connections)


@cache
def operations() -> dict[str, Any]:
    document = SchemaGenerator().get_schema(request=None, public=True)
    schema = schemathesis.openapi.from_dict(document)
    schema.app = application
    results = list(schema.get_all_operations())
    sound = [result.ok() for result in results if isinstance(result, Ok)]
    assert len(sound) == len(results)
    return {operation.label: operation for operation in sound}


def test_the_list_above_names_every_operation_of_the_document() -> None:
    assert sorted(operations()) == sorted(OPERATIONS)


@pytest.mark.slow
@pytest.mark.parametrize("label", OPERATIONS)
def test_an_operation_keeps_to_its_document(label: str, api_staff: dict[str, User]) -> None:
    ticket = building.make_ticket(api_staff["counter"], [building.jumper(), building.shirt()])
    real = {
        "number": ticket.number,
        "code": ticket.pieces.get(position=1).code,
        "id": ticket.customer_id,
        "station": "wash",
        "load": building.make_load(api_staff["owner"]).pk,
    }
    token = Token.objects.create(user=api_staff["owner"]).key
    operation = operations()[label]
    modes = [schemathesis.GenerationMode.POSITIVE]
    if operation.body or operation.query or operation.path_parameters:
        modes.append(schemathesis.GenerationMode.NEGATIVE)
    seen: list[int] = []

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(
        case=st.one_of([operation.as_strategy(generation_mode=mode) for mode in modes]),
        known=st.booleans(),
    )
    def send(case: Any, known: bool) -> None:
        if known and case.path_parameters:
            case.path_parameters = {name: real[name] for name in case.path_parameters}
        # In process nobody unpacks what travels compressed.
        headers = {"Authorization": f"Token {token}", "Accept-Encoding": "identity"}
        response = case.call_and_validate(headers=headers, checks=CHECKS)
        seen.append(response.status_code)

    send()
    assert len(seen) >= 1
    assert 401 not in seen or label == "POST /api/v1/token/"
