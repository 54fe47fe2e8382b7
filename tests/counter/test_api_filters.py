"""The filters of every list: what is refused, with which words, and what the document says."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1
from tickets.choices import PieceState, Station

KNOWN = {
    "pieces/": [
        "station", "state", "open", "late", "ticket", "customer", "promise_day", "updated_since",
    ],
    "loads/": ["station", "state", "open", "machine"],
    "tickets/": [
        "state", "open", "late", "customer", "search", "promise_day", "updated_since", "number",
    ],
    "customers/": ["search"],
    "boards/wash/": [],
}  # fmt: skip


@pytest.mark.parametrize(("address", "names"), KNOWN.items())
def test_a_name_that_is_no_filter_is_refused_with_those_that_are(
    api_counter: APIClient, address: str, names: list[str]
) -> None:
    response = api_counter.get(f"{V1}/{address}", {"satte": "50%", "page": "1"})
    assert (response.status_code, response.json()["code"]) == (400, "invalid")
    known = ", ".join([*names, "page", "page_size", "after"])
    assert response.json()["fields"] == [
        {"field": "satte", "value": "50%", "cure": f"Unknown here. Known are: {known}."}
    ]


@pytest.mark.parametrize(("address", "names"), KNOWN.items())
def test_a_filter_left_empty_lists_all(
    api_counter: APIClient, api_staff: dict[str, User], address: str, names: list[str]
) -> None:
    building.make_load(api_staff["backroom"])
    building.make_ticket(api_staff["counter"])
    bare = api_counter.get(f"{V1}/{address}").json()
    assert api_counter.get(f"{V1}/{address}", dict.fromkeys(names, "")).json() == bare


def test_every_fault_of_a_query_is_named_at_once(api_back: APIClient) -> None:
    sent = {"x": "1", "ticket": "0", "state": "50%", "open": "perhaps", "promise_day": "1/2/2026"}
    response = api_back.get(f"{V1}/pieces/", sent)
    assert response.status_code == 400
    states = ", ".join(PieceState.values)
    cures = {fault["field"]: fault["cure"] for fault in response.json()["fields"]}
    assert list(cures) == ["state", "open", "ticket", "promise_day", "x"]
    assert cures["state"] == f'"50%" is not a valid choice. Known are: {states}.'
    assert cures["open"] == "Must be a valid boolean."
    assert cures["ticket"] == "Ensure this value is greater than or equal to 1."
    assert cures["promise_day"].startswith("Date has wrong format.")


@pytest.mark.parametrize(
    ("yes", "no"), [("true", "false"), ("1", "0"), ("yes", "no"), ("True", "False")]
)
def test_yes_and_no_may_be_written_as_in_a_body(
    api_back: APIClient, api_staff: dict[str, User], yes: str, no: str
) -> None:
    building.make_ticket(api_staff["counter"])

    def count(value: str) -> int:
        return int(api_back.get(f"{V1}/pieces/", {"open": value}).json()["count"])

    assert (count(yes), count(no)) == (1, 0)


def test_filters_narrow_each_other(api_back: APIClient, api_staff: dict[str, User]) -> None:
    first = building.make_ticket(api_staff["counter"])
    bob = building.make_customer("Bob Ashdown", "07700 900456")
    second = building.make_ticket(api_staff["counter"], customer=bob)

    def numbers(**filters: str | int) -> list[int]:
        rows = api_back.get(f"{V1}/tickets/", filters).json()["results"]
        return [row["number"] for row in rows]

    assert numbers(search="bob", state="open") == [second.number]
    assert numbers(search="bob", number=first.number) == []
    assert numbers(search="bob", open="false") == []


def test_the_document_names_each_filter_with_its_type(api_back: APIClient) -> None:
    paths = api_back.get(f"{V1}/schema/").json()["paths"]
    for address, names in KNOWN.items():
        if names:
            assert set(described(paths, address)) == {*names, "page", "page_size", "after"}
    pieces = described(paths, "pieces/")
    assert sorted(pieces["station"]["enum"]) == sorted(Station.values)
    assert sorted(pieces["state"]["enum"]) == sorted(PieceState.values)
    assert pieces["open"]["type"] == "boolean"
    assert pieces["ticket"] == {"type": "integer", "minimum": 1, "maximum": 9_999_999}
    assert pieces["promise_day"] == {"type": "string", "format": "date"}
    search = {"type": "string", "minLength": 1, "maxLength": 120}
    assert described(paths, "customers/")["search"] == search
    assert described(paths, "tickets/")["search"] == search


def described(paths: Any, address: str) -> dict[str, Any]:
    """Name -> type of each parameter of a list."""
    parameters = paths[f"{V1}/{address}"]["get"]["parameters"]
    return {parameter["name"]: parameter["schema"] for parameter in parameters}
