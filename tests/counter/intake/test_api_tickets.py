"""Tickets over the API: opened once, found, read, paid and handed over."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from rest_framework.test import APIClient

from counter.models import TicketLine
from tests import building
from tests.api_calls import V1, inspection, new_ticket, queries_of
from tests.bulk import copies
from tests.counter.rows import rack, ticket_of
from tickets.models import Customer, Move, Piece, Ticket

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


def keys(response: Any) -> list[str]:
    return [fault["field"] for fault in response.json()["fields"]]


def test_a_ticket_opens_with_its_pieces_lines_and_customer(api_counter: APIClient) -> None:
    sent = new_ticket(
        client_key=KEY,
        rush=True,
        note="ring twice",
        pieces=[
            {"facts": building.jumper(), "inspection": inspection(), "description": "blue"},
            {"facts": building.shirt(), "inspection": inspection(stains="listed")},
        ],
    )
    response = api_counter.post(f"{V1}/tickets/", sent)
    assert response.status_code == 201, response.content
    shown = response.json()
    assert shown["customer"]["name"] == "Iris Marlow"
    assert shown["customer"]["phone"] == "+441632960777"
    assert (shown["state"], shown["rush"], shown["note"]) == ("open", True, "ring twice")
    assert [(p["position"], p["kind"], p["station"]) for p in shown["pieces"]] == [
        (1, "sweater_wool", "intake"),
        (2, "shirt_cotton", "intake"),
    ]
    # 2 x 6.00 for cleaning and the shop's 50 % for rush
    assert [line["amount"] for line in shown["lines"]] == ["6.00", "6.00", "6.00"]
    assert (shown["total"], shown["paid"], shown["balance"]) == ("18.00", "0.00", "18.00")
    assert shown["currency"] == "GBP"
    opened = Move.objects.filter(kind="opened")
    assert [move.by.username for move in opened] == ["test-counter"] * 2


def test_the_key_may_stand_in_the_header(api_counter: APIClient) -> None:
    first = api_counter.post(f"{V1}/tickets/", new_ticket(), HTTP_IDEMPOTENCY_KEY=KEY)
    assert first.status_code == 201
    assert Ticket.objects.get().client_key == uuid.UUID(KEY)


def test_opening_twice_with_one_key_gives_the_same_ticket(api_counter: APIClient) -> None:
    first = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY))
    second = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert (Ticket.objects.count(), Customer.objects.count(), TicketLine.objects.count()) == (
        1,
        1,
        1,
    )


def test_a_key_opens_no_ticket_of_somebody_else_and_none_of_other_pieces(
    api_counter: APIClient,
) -> None:
    api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY))
    shirt = {"facts": building.shirt(), "inspection": inspection(stains="listed")}
    for changes in ({"new_customer": {"name": "Bob Ashdown"}}, {"pieces": [shirt]}):
        response = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, **changes))
        assert (response.status_code, response.json()["code"]) == (409, "key_used")
    assert Ticket.objects.count() == 1


def test_a_known_customer_is_named_by_id(api_counter: APIClient) -> None:
    ada = building.make_customer()
    sent = new_ticket(client_key=KEY, customer=ada.pk, new_customer=None)
    response = api_counter.post(f"{V1}/tickets/", sent)
    assert response.status_code == 201
    assert response.json()["customer"]["id"] == ada.pk


def test_without_a_promise_the_earliest_one_is_made(api_counter: APIClient) -> None:
    response = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, promised_at=None))
    assert response.status_code == 201
    assert Ticket.objects.get().promised_at > timezone.now()


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"client_key": None}, ["client_key"]),
        ({"client_key": "nine"}, ["client_key"]),
        ({"customer": 12345, "new_customer": None}, ["customer"]),
        ({"customer": None, "new_customer": None}, ["customer"]),
        ({"pieces": []}, ["pieces"]),
        ({"pieces": "many"}, ["pieces"]),
        ({"pieces": [{}]}, ["pieces[0].facts", "pieces[0].inspection"]),
        ({"promised_at": "soon"}, ["promised_at"]),
        ({"rush": "perhaps"}, ["rush"]),
        ({"note": "n" * 501}, ["note"]),
        ({"new_customer": {"phone": "1"}}, ["new_customer.name"]),
        ({"new_customer": {"name": "Iris", "fone": "1"}}, ["new_customer.fone"]),
        ({"promise": "2999-01-01"}, ["promise"]),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_saved(
    api_counter: APIClient, changes: dict[str, Any], fields: list[str]
) -> None:
    response = api_counter.post(f"{V1}/tickets/", {**new_ticket(client_key=KEY), **changes})
    assert (response.status_code, response.json()["code"]) == (400, "invalid")
    assert keys(response) == fields
    assert (Ticket.objects.count(), Customer.objects.count()) == (0, 0)


def test_every_fault_in_the_facts_is_named_with_its_path_value_and_cure(
    api_counter: APIClient,
) -> None:
    pieces = [
        {"facts": building.jumper(colour="drak"), "inspection": inspection()},
        {"facts": building.shirt(wearer="cat", kind="spaceship"), "inspection": inspection()},
    ]
    response = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=pieces))
    assert (response.status_code, response.json()["code"]) == (400, "bad_facts")
    faults = {fault["field"]: fault["value"] for fault in response.json()["fields"]}
    assert faults == {
        "pieces[0].facts.colour": "drak",
        "pieces[1].facts.kind": "spaceship",
        "pieces[1].facts.wearer": "cat",
    }
    assert all(fault["cure"] for fault in response.json()["fields"])
    assert (Ticket.objects.count(), Customer.objects.count()) == (0, 0)


def test_an_inspection_that_contradicts_the_facts_is_refused(api_counter: APIClient) -> None:
    pieces = [{"facts": building.shirt(), "inspection": inspection(stains="none")}]
    response = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=pieces))
    assert response.status_code == 400
    assert keys(response) == ["pieces[0].inspection.stains"]


def test_a_bad_phone_leaves_no_customer_behind(api_counter: APIClient) -> None:
    sent = new_ticket(client_key=KEY, new_customer={"name": "Iris Marlow", "phone": "12"})
    response = api_counter.post(f"{V1}/tickets/", sent)
    assert (response.status_code, response.json()["code"]) == (400, "bad_phone")
    assert Customer.objects.count() == 0


def test_a_refusal_after_the_customer_was_made_leaves_none_behind(api_counter: APIClient) -> None:
    early = (timezone.now() + timedelta(minutes=1)).isoformat()
    response = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, promised_at=early))
    assert (response.status_code, response.json()["code"]) == (409, "promise_early")
    assert (Ticket.objects.count(), Customer.objects.count()) == (0, 0)


def test_a_hold_caution_opens_only_with_a_name(api_counter: APIClient) -> None:
    # Two wash symbols at once: the contract asks for a hold that names both.
    facts = building.jumper()
    facts["label"]["symbols"].append("wash_60")
    piece: dict[str, Any] = {"facts": facts, "inspection": inspection()}
    refused = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=[piece]))
    assert (refused.status_code, refused.json()["code"]) == (409, "needs_acceptance")
    assert Customer.objects.count() == 0

    cautions = api_counter.post(f"{V1}/decide/", facts).json()["cautions"]
    held = [caution for caution in cautions if caution["level"] == "hold"]
    piece["accepted"] = [{"key": row["key"], "by_name": "Iris Marlow"} for row in held]
    opened = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=[piece]))
    assert opened.status_code == 201, opened.content
    code = opened.json()["pieces"][0]["code"]
    accepted = api_counter.get(f"{V1}/pieces/{code}/").json()["acceptances"]
    assert [(row["caution"], row["says"], row["accepted_by"]) for row in accepted] == [
        (row["key"], row["says"], "Iris Marlow") for row in held
    ]


def test_the_shop_decides_what_it_can_do_and_not_the_caller(api_counter: APIClient) -> None:
    facts = building.jumper(shop={"wet_cleaning": True, "dry_cleaning": ["P"], "send_out": []})
    pieces = [{"facts": facts, "inspection": inspection()}]
    response = api_counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=pieces))
    assert response.status_code == 201
    assert Piece.objects.get().facts["shop"] == building.make_shop().abilities


def test_only_the_owner_records_that_a_makers_finish_is_known(
    api_counter: APIClient, api_of: Callable[[str], APIClient]
) -> None:
    facts = building.jumper(overrides=["fibre.wool"])
    sent = new_ticket(client_key=KEY, pieces=[{"facts": facts, "inspection": inspection()}])
    refused = api_counter.post(f"{V1}/tickets/", sent)
    assert refused.status_code == 400
    assert keys(refused) == ["pieces[0].facts.overrides"]
    assert api_of("owner").post(f"{V1}/tickets/", sent).status_code == 201


def test_the_list_filters_by_state_customer_day_and_number(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    building.make_ticket(api_staff["counter"])
    bob = building.make_customer("Bob Ashdown", "07700 900456")
    ready = building.make_ready(
        building.make_ticket(api_staff["counter"], customer=bob), api_staff["owner"]
    )

    def found(**filters: Any) -> list[int]:
        rows = api_back.get(f"{V1}/tickets/", filters).json()["results"]
        return [row["number"] for row in rows]

    first, second = 1000001, 1000002
    assert found() == [second, first]
    assert found(state="open") == [first]
    assert found(state="ready") == [second]
    assert found(state="closed") == []
    assert found(search="0456") == [second]
    assert found(search="broo") == [first]
    assert found(customer=bob.pk) == [second]
    assert found(open="true") == [second, first]
    assert found(open="false") == []
    assert found(late="true") == []
    assert found(number=first) == [first]
    assert found(promise_day=ready.promise_day.isoformat()) == [second, first]
    assert found(promise_day="2020-01-01") == []


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("state", "lost"),
        ("promise_day", "soon"),
        ("number", "x"),
        ("customer", "ada"),
        ("search", "a\0b"),
        ("open", "perhaps"),
        ("late", "perhaps"),
        ("sttate", "open"),
        ("page_size", "0"),
        ("page_size", "many"),
        ("page_size", "1000000000"),
    ],
)
def test_a_filter_that_means_nothing_is_refused(api_back: APIClient, name: str, value: str) -> None:
    response = api_back.get(f"{V1}/tickets/", {name: value})
    assert response.status_code == 400
    assert [(f["field"], f["value"]) for f in response.json()["fields"]] == [(name, value)]


def test_a_value_that_is_no_choice_is_told_the_choices(api_back: APIClient) -> None:
    [fault] = api_back.get(f"{V1}/tickets/", {"state": "lost"}).json()["fields"]
    assert fault["cure"] == '"lost" is not a valid choice. Known are: open, ready, closed.'


def test_pages_are_as_long_as_asked_up_to_200(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    for _ in range(3):
        building.make_ticket(api_staff["counter"])
    page = api_back.get(f"{V1}/tickets/", {"page_size": 2}).json()
    assert (page["count"], len(page["results"])) == (3, 2)
    assert api_back.get(page["next"]).json()["results"][0]["number"] == 1000001
    beyond = api_back.get(f"{V1}/tickets/", {"page": 9})
    assert (beyond.status_code, beyond.json()["code"]) == (404, "not_found")
    assert beyond.json()["says"].startswith("There is no page 9:")
    assert api_back.get(f"{V1}/tickets/", {"page_size": 100_000}).status_code == 200


def test_an_unknown_number_is_404_with_a_cure(api_back: APIClient) -> None:
    for number in (1000001, 7, 10**30):
        response = api_back.get(f"{V1}/tickets/{number}/")
        assert response.status_code == 404
        assert response.json() == {
            "code": "unknown_ticket",
            "says": f"There is no ticket {number}.",
            "cure": "Read the number again, or search by phone or name.",
        }


@pytest.mark.parametrize("path", ["tickets/", "customers/"])
def test_a_list_costs_the_same_for_1_and_for_50(
    path: str, api_counter: APIClient, api_staff: dict[str, User]
) -> None:
    ticket = building.make_ticket(api_staff["counter"])
    for_one = queries_of(lambda: api_counter.get(f"{V1}/{path}"))
    for number, piece in enumerate(copies(ticket.pieces.get(), 49, a_ticket=1)):
        customer = building.make_customer(phone=f"01632 9602{number:02d}")
        Ticket.objects.filter(pk=piece.ticket.pk).update(customer=customer)
    assert len(api_counter.get(f"{V1}/{path}").json()["results"]) == 50
    assert queries_of(lambda: api_counter.get(f"{V1}/{path}")) == for_one


@pytest.mark.parametrize("path", ["tickets", "pickups"])
def test_a_ticket_costs_the_same_for_1_and_for_30_pieces(
    path: str, api_counter: APIClient, api_staff: dict[str, User]
) -> None:
    small = ticket_of(api_staff["counter"])
    large = rack(ticket_of(api_staff["counter"]), api_staff["counter"])
    copies(large.pieces.get(), 29, a_ticket=0)
    rack(small, api_staff["counter"])
    shown = api_counter.get(f"{V1}/{path}/{large.number}/").json()
    assert len(shown["pieces" if path == "tickets" else "ready"]) == 30
    costs = [
        queries_of(partial(api_counter.get, f"{V1}/{path}/{ticket.number}/"))
        for ticket in (small, large)
    ]
    assert costs[0] == costs[1]
