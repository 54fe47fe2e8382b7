"""The OpenAPI document: whole, valid and without a warning."""

from __future__ import annotations

from io import StringIO
from pathlib import Path

from django.core.management import call_command
from rest_framework.test import APIClient

from tests.api_calls import V1


def test_the_document_is_valid_and_made_without_a_warning(tmp_path: Path) -> None:
    target = tmp_path / "schema.yml"
    call_command(
        "spectacular", "--validate", "--fail-on-warn", "--file", str(target), stderr=StringIO()
    )
    assert target.read_text(encoding="utf-8").startswith("openapi: 3.")


def test_the_document_is_served_as_json_and_as_yaml(api_back: APIClient) -> None:
    as_json = api_back.get(f"{V1}/schema/")
    assert as_json.status_code == 200
    assert as_json.json()["info"]["title"] == "Garment Counter"
    as_yaml = api_back.get(f"{V1}/schema/", HTTP_ACCEPT="application/yaml")
    assert as_yaml["Content-Type"].startswith("application/yaml")


def test_every_operation_documents_the_one_shape_of_errors(api_back: APIClient) -> None:
    document = api_back.get(f"{V1}/schema/").json()
    shapes = {
        response["content"]["application/json"]["schema"]["$ref"]
        for path in document["paths"].values()
        for operation in path.values()
        for status, response in operation["responses"].items()
        if status >= "400"
    }
    assert shapes == {"#/components/schemas/Error"}


def test_every_operation_says_that_somebody_must_be_signed_in(api_back: APIClient) -> None:
    document = api_back.get(f"{V1}/schema/").json()
    silent = [
        path
        for path, operations in document["paths"].items()
        for operation in operations.values()
        if "401" not in operation["responses"]
    ]
    assert silent == []
