"""A garment that comes again, and the count of its washes, over the API."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.contrib.auth.models import User
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1, inspection, new_ticket
from tickets.models import Customer, Piece

KEY = "0c9b0a54-9ef1-4c0e-8f0e-5b1f6f3b7a10"


@pytest.fixture
def ada(api_staff: dict[str, User]) -> Customer:
    return building.make_customer()


def sent(customer: Customer | None, *pieces: dict[str, Any], **changes: Any) -> dict[str, Any]:
    body = new_ticket(**{"client_key": str(uuid.uuid4()), **changes})
    if customer is not None:
        del body["new_customer"]
        body["customer"] = customer.pk
    return body | {"pieces": list(pieces)}


def jacket(**more: Any) -> dict[str, Any]:
    return {"facts": building.hivis_jacket(), "inspection": inspection(), **more}


def open_and_finish(client: APIClient, by: User, body: dict[str, Any]) -> Piece:
    response = client.post(f"{V1}/tickets/", body)
    assert response.status_code == 201, response.content
    piece = Piece.objects.get(ticket__number=response.json()["number"])
    building.hand_over_all(piece.ticket, by)
    return piece


def test_a_jacket_comes_three_times_and_its_count_goes_on(
    api_counter: APIClient, api_staff: dict[str, User], ada: Customer
) -> None:
    owner = api_staff["owner"]
    first = open_and_finish(
        api_counter, owner, sent(ada, jacket(washes_before=3, washes_allowed=25))
    )
    second = open_and_finish(api_counter, owner, sent(ada, jacket(earlier=first.spoken)))
    third = open_and_finish(
        api_counter, owner, sent(ada, jacket(earlier=second.code, washes_before=2))
    )
    shown = api_counter.get(f"{V1}/pieces/{third.code}/").json()
    assert shown["earlier"] == second.code
    assert shown["wash_count"] == {"done": 8, "allowed": 25, "told": True, "state": "within"}
    shown = api_counter.get(f"{V1}/pieces/{first.code}/").json()
    assert (shown["earlier"], shown["wash_count"]["done"]) == (None, 4)


def test_a_piece_that_is_not_counted_has_no_count(api_counter: APIClient, ada: Customer) -> None:
    body = sent(ada, {"facts": building.jumper(), "inspection": inspection()})
    api_counter.post(f"{V1}/tickets/", body)
    shown = api_counter.get(f"{V1}/pieces/{Piece.objects.get().code}/").json()
    assert (shown["earlier"], shown["wash_count"]) == (None, None)


def test_the_same_key_sent_twice_makes_one_piece_of_the_garment(
    api_counter: APIClient, api_staff: dict[str, User], ada: Customer
) -> None:
    first = open_and_finish(api_counter, api_staff["owner"], sent(ada, jacket()))
    body = sent(ada, jacket(earlier=first.code), client_key=KEY)
    assert api_counter.post(f"{V1}/tickets/", body).status_code == 201
    again = api_counter.post(f"{V1}/tickets/", body)
    assert (again.status_code, Piece.objects.filter(earlier=first).count()) == (200, 1)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("earlier", "12345"),
        ("earlier", "1000999-01"),
        ("earlier", "1000001"),
        ("washes_before", -1),
        ("washes_before", 1001),
        ("washes_allowed", 0),
        ("washes_allowed", "many"),
    ],
)
def test_a_value_that_cannot_be_is_named_with_its_place_and_cure(
    api_counter: APIClient, ada: Customer, name: str, value: Any
) -> None:
    response = api_counter.post(f"{V1}/tickets/", sent(ada, jacket(), jacket(**{name: value})))
    assert response.status_code == 400, response.content
    (fault,) = response.json()["fields"]
    assert (fault["field"], fault["value"]) == (f"pieces[1].{name}", value)
    assert fault["cure"]
    assert not Piece.objects.exists()


def test_a_count_for_what_is_not_counted_is_named(api_counter: APIClient, ada: Customer) -> None:
    plain = {"facts": building.jumper(), "inspection": inspection()}
    body = sent(ada, plain | {"washes_before": 0, "washes_allowed": 25})
    response = api_counter.post(f"{V1}/tickets/", body)
    assert response.status_code == 400
    assert [(f["field"], f["value"]) for f in response.json()["fields"]] == [
        ("pieces[0].washes_before", 0),
        ("pieces[0].washes_allowed", 25),
    ]


def test_garments_of_others_and_those_still_here_are_refused_by_number(
    api_counter: APIClient, api_staff: dict[str, User], ada: Customer
) -> None:
    gone = open_and_finish(api_counter, api_staff["owner"], sent(ada, jacket()))
    here = building.make_ticket(api_staff["counter"], customer=ada).pieces.get()
    bo = building.make_customer("Bo Reed")
    for customer, piece, code in (
        (bo, gone, "other_customer"),
        (None, gone, "other_customer"),
        (ada, here, "still_here"),
    ):
        before = Piece.objects.count(), Customer.objects.count()
        response = api_counter.post(f"{V1}/tickets/", sent(customer, jacket(earlier=piece.code)))
        assert (response.status_code, response.json()["code"]) == (409, code)
        assert piece.spoken in response.json()["says"]
        assert response.json()["cure"]
        assert (Piece.objects.count(), Customer.objects.count()) == before


def test_a_wash_past_the_label_needs_a_name_and_opens_with_it(
    api_counter: APIClient, ada: Customer
) -> None:
    worn = jacket(washes_before=25, washes_allowed=25)
    response = api_counter.post(f"{V1}/tickets/", sent(ada, worn))
    assert (response.status_code, response.json()["code"]) == (409, "needs_acceptance")
    assert "This is wash 26 and its label certifies 25" in response.json()["says"]
    named = [{"key": "hivis.washcount.label_count", "by_name": "Ada Brook"}]
    response = api_counter.post(f"{V1}/tickets/", sent(ada, worn | {"accepted": named}))
    assert response.status_code == 201, response.content
    piece = Piece.objects.get()
    shown = api_counter.get(f"{V1}/pieces/{piece.code}/").json()
    assert [(row["caution"], row["accepted_by"]) for row in shown["acceptances"]] == [
        ("hivis.washcount.label_count", "Ada Brook")
    ]
    assert shown["wash_count"]["state"] == "due"
