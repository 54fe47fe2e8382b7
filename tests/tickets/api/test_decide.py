"""The care decision over the API is the decision of the engine, and stores nothing."""

from __future__ import annotations

from typing import Any

import pytest
from rest_framework.test import APIClient

import care_rules
from tests import building
from tests.api_calls import V1
from tickets.models import Piece


def test_one_piece_gives_one_decision(api_back: APIClient) -> None:
    response = api_back.post(f"{V1}/decide/", building.jumper(id="blue one"))
    assert response.status_code == 200
    assert response.json() == care_rules.decide_json(building.jumper(id="blue one"))


def test_an_array_gives_an_array_in_order_and_the_same_twice(api_back: APIClient) -> None:
    facts = [building.jumper(id="1"), building.shirt(id="2"), building.trousers(id="3")]
    first, second = (api_back.post(f"{V1}/decide/", facts).json() for _ in range(2))
    assert first == second == [care_rules.decide_json(garment) for garment in facts]
    assert Piece.objects.count() == 0


def test_every_fault_of_every_object_is_named(api_back: APIClient) -> None:
    facts = [building.jumper(colour="drak"), building.shirt(), {"kind": 3, "services": ["fly"]}]
    response = api_back.post(f"{V1}/decide/", facts)
    assert (response.status_code, response.json()["code"]) == (400, "bad_facts")
    faults = [(fault["field"], fault["value"]) for fault in response.json()["fields"]]
    assert sorted(faults) == [
        ("[0].colour", "drak"),
        ("[2].kind", 3),
        ("[2].services[0]", "fly"),
    ]
    assert all(fault["cure"] for fault in response.json()["fields"])


@pytest.mark.parametrize("body", ["[]", "3", "null", '"text"', "[3]", "[[]]", "true"])
def test_what_is_no_facts_is_400(api_back: APIClient, body: str) -> None:
    response = api_back.post(f"{V1}/decide/", body, content_type="application/json")
    assert response.status_code == 400, response.content
    assert response.json()["fields"]


def test_two_hundred_at_once_and_not_one_more(api_back: APIClient) -> None:
    assert len(api_back.post(f"{V1}/decide/", [{}] * 200).json()) == 200
    assert api_back.post(f"{V1}/decide/", [{}] * 201).status_code == 400


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        (b"", 200, None),
        (b"{", 400, "parse_error"),
        (b"\xff\xfe", 400, "parse_error"),
        (b'{"a": NaN}', 400, "parse_error"),
        (b'{"a": Infinity}', 400, "parse_error"),
        (b'{"a": 1e400}', 400, "parse_error"),
        (b'{"a": ' + b"9" * 5000 + b"}", 400, "parse_error"),
        (b"[" * 100_000, 400, "parse_error"),
        (b"[" * 100_000 + b"]" * 100_000, 400, "parse_error"),
        (b'{"id": "a\\u0000b"}', 400, "parse_error"),
        (b'{"id": "\\ud800"}', 400, "parse_error"),
        (b'{"\\udfff": 1}', 400, "parse_error"),
        (b'{"id": "' + b"x" * 1024 * 1024 + b'"}', 413, "too_large"),
    ],
    ids=lambda value: repr(value[:18]) if isinstance(value, bytes) else None,
)
def test_a_body_that_is_no_sound_json_is_refused(
    api_back: APIClient, body: bytes, status: int, code: str | None
) -> None:
    response = api_back.post(f"{V1}/decide/", body, content_type="application/json")
    assert response.status_code == status, response.content[:300]
    assert response.json().get("code") == code


def test_another_media_type_is_415(api_back: APIClient) -> None:
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):
        response = api_back.generic("POST", f"{V1}/decide/", "a=1", kind)
        assert (response.status_code, response.json()["code"]) == (415, "unsupported_media_type")


def test_an_answer_in_another_form_is_406(api_back: APIClient) -> None:
    response = api_back.post(f"{V1}/decide/", {}, HTTP_ACCEPT="text/html")
    assert (response.status_code, response.json()["code"]) == (406, "not_acceptable")


def deep(levels: int) -> Any:
    value: Any = "end"
    for _ in range(levels):
        value = [value]
    return value


def test_nesting_that_the_reader_still_takes_is_a_fault_of_the_facts(api_back: APIClient) -> None:
    response = api_back.post(f"{V1}/decide/", {"stains": deep(200)})
    assert (response.status_code, response.json()["code"]) == (400, "bad_facts")
