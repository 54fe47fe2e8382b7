"""Tickets over the API: opened once, found, read, paid and handed over."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from rest_framework.test import APIClient

from counter import pickup
from counter.models import Payment, Pickup, TicketLine
from tests import building
from tests.api.conftest import V1, inspection, new_ticket, queries_of
from tickets.models import Customer, Move, Piece, Ticket
from tickets.tracking import Act

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


def keys(response: Any) -> list[str]:
    return [fault["field"] for fault in response.json()["fields"]]


def test_a_ticket_opens_with_its_pieces_lines_and_customer(counter: APIClient) -> None:
    sent = new_ticket(
        client_key=KEY,
        rush=True,
        note="ring twice",
        pieces=[
            {"facts": building.jumper(), "inspection": inspection(), "description": "blue"},
            {"facts": building.shirt(), "inspection": inspection(stains="listed")},
        ],
    )
    response = counter.post(f"{V1}/tickets/", sent)
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


def test_the_key_may_stand_in_the_header(counter: APIClient) -> None:
    first = counter.post(f"{V1}/tickets/", new_ticket(), HTTP_IDEMPOTENCY_KEY=KEY)
    assert first.status_code == 201
    assert Ticket.objects.get().client_key == uuid.UUID(KEY)


def test_opening_twice_with_one_key_gives_the_same_ticket(counter: APIClient) -> None:
    first = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY))
    second = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert (Ticket.objects.count(), Customer.objects.count(), TicketLine.objects.count()) == (
        1,
        1,
        1,
    )


def test_a_known_customer_is_named_by_id(counter: APIClient) -> None:
    ada = building.make_customer()
    sent = new_ticket(client_key=KEY, customer=ada.pk, new_customer=None)
    response = counter.post(f"{V1}/tickets/", sent)
    assert response.status_code == 201
    assert response.json()["customer"]["id"] == ada.pk


def test_without_a_promise_the_earliest_one_is_made(counter: APIClient) -> None:
    response = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, promised_at=None))
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
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_saved(
    counter: APIClient, changes: dict[str, Any], fields: list[str]
) -> None:
    response = counter.post(f"{V1}/tickets/", {**new_ticket(client_key=KEY), **changes})
    assert (response.status_code, response.json()["code"]) == (400, "invalid")
    assert keys(response) == fields
    assert (Ticket.objects.count(), Customer.objects.count()) == (0, 0)


def test_every_fault_in_the_facts_is_named_with_its_path_value_and_cure(
    counter: APIClient,
) -> None:
    pieces = [
        {"facts": building.jumper(colour="drak"), "inspection": inspection()},
        {"facts": building.shirt(wearer="cat", kind="tent"), "inspection": inspection()},
    ]
    response = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=pieces))
    assert (response.status_code, response.json()["code"]) == (400, "bad_facts")
    faults = {each["field"]: each["value"] for each in response.json()["fields"]}
    assert faults == {
        "pieces[0].facts.colour": "drak",
        "pieces[1].facts.kind": "tent",
        "pieces[1].facts.wearer": "cat",
    }
    assert all(each["cure"] for each in response.json()["fields"])
    assert (Ticket.objects.count(), Customer.objects.count()) == (0, 0)


def test_an_inspection_that_contradicts_the_facts_is_refused(counter: APIClient) -> None:
    pieces = [{"facts": building.shirt(), "inspection": inspection(stains="none")}]
    response = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=pieces))
    assert response.status_code == 400
    assert keys(response) == ["pieces[0].inspection.stains"]


def test_a_bad_phone_leaves_no_customer_behind(counter: APIClient) -> None:
    sent = new_ticket(client_key=KEY, new_customer={"name": "Iris Marlow", "phone": "12"})
    response = counter.post(f"{V1}/tickets/", sent)
    assert (response.status_code, response.json()["code"]) == (400, "bad_phone")
    assert Customer.objects.count() == 0


def test_a_refusal_after_the_customer_was_made_leaves_none_behind(counter: APIClient) -> None:
    early = (timezone.now() + timedelta(minutes=1)).isoformat()
    response = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, promised_at=early))
    assert (response.status_code, response.json()["code"]) == (409, "promise_early")
    assert (Ticket.objects.count(), Customer.objects.count()) == (0, 0)


def test_a_hold_caution_opens_only_with_a_name(counter: APIClient) -> None:
    # Two wash symbols at once: the contract asks for a hold that names both.
    facts = building.jumper()
    facts["label"]["symbols"].append("wash_60")
    piece = {"facts": facts, "inspection": inspection()}
    refused = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=[piece]))
    assert (refused.status_code, refused.json()["code"]) == (409, "needs_acceptance")
    assert Customer.objects.count() == 0

    cautions = counter.post(f"{V1}/decide/", facts).json()["cautions"]
    held = [caution for caution in cautions if caution["level"] == "hold"]
    piece["accepted"] = [{"key": each["key"], "by_name": "Iris Marlow"} for each in held]
    opened = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=[piece]))
    assert opened.status_code == 201, opened.content
    code = opened.json()["pieces"][0]["code"]
    accepted = counter.get(f"{V1}/pieces/{code}/").json()["acceptances"]
    assert [(each["caution"], each["says"], each["accepted_by"]) for each in accepted] == [
        (each["key"], each["says"], "Iris Marlow") for each in held
    ]


def test_the_shop_decides_what_it_can_do_and_not_the_caller(counter: APIClient) -> None:
    facts = building.jumper(shop={"wet_cleaning": True, "dry_cleaning": ["P"], "send_out": []})
    pieces = [{"facts": facts, "inspection": inspection()}]
    response = counter.post(f"{V1}/tickets/", new_ticket(client_key=KEY, pieces=pieces))
    assert response.status_code == 201
    assert Piece.objects.get().facts["shop"] == building.make_shop().abilities


def test_only_the_owner_records_that_a_makers_finish_is_known(
    counter: APIClient, client_of: Callable[[str], APIClient]
) -> None:
    facts = building.jumper(overrides=["fibre.wool"])
    sent = new_ticket(client_key=KEY, pieces=[{"facts": facts, "inspection": inspection()}])
    refused = counter.post(f"{V1}/tickets/", sent)
    assert refused.status_code == 400
    assert keys(refused) == ["pieces[0].facts.overrides"]
    assert client_of("owner").post(f"{V1}/tickets/", sent).status_code == 201


def test_the_list_filters_by_state_customer_day_and_number(
    back: APIClient, staff: dict[str, User]
) -> None:
    building.make_ticket(staff["counter"])
    bob = building.make_customer("Bob Ashdown", "07700 900456")
    ready = building.make_ready(
        building.make_ticket(staff["counter"], customer=bob), staff["owner"]
    )

    def found(**filters: Any) -> list[int]:
        rows = back.get(f"{V1}/tickets/", filters).json()["results"]
        return [row["number"] for row in rows]

    first, second = 1000001, 1000002
    assert found() == [second, first]
    assert found(state="open") == [first]
    assert found(state="ready") == [second]
    assert found(state="closed") == []
    assert found(customer="0456") == [second]
    assert found(customer="broo") == [first]
    assert found(number=first) == [first]
    assert found(promise_day=ready.promise_day.isoformat()) == [second, first]
    assert found(promise_day="2020-01-01") == []


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("state", "lost"),
        ("promise_day", "soon"),
        ("number", "x"),
        ("customer", "a\0b"),
        ("page_size", "0"),
        ("page_size", "many"),
    ],
)
def test_a_filter_that_means_nothing_is_refused(back: APIClient, name: str, value: str) -> None:
    response = back.get(f"{V1}/tickets/", {name: value})
    assert response.status_code == 400
    assert [(f["field"], f["value"]) for f in response.json()["fields"]] == [(name, value)]


def test_pages_are_as_long_as_asked_up_to_200(back: APIClient, staff: dict[str, User]) -> None:
    for _ in range(3):
        building.make_ticket(staff["counter"])
    page = back.get(f"{V1}/tickets/", {"page_size": 2}).json()
    assert (page["count"], len(page["results"])) == (3, 2)
    assert back.get(page["next"]).json()["results"][0]["number"] == 1000001
    assert back.get(f"{V1}/tickets/", {"page": 9}).status_code == 404
    assert back.get(f"{V1}/tickets/", {"page_size": 100_000}).status_code == 200


def test_an_unknown_number_is_404_with_a_cure(back: APIClient) -> None:
    for number in (1000001, 7, 10**30):
        response = back.get(f"{V1}/tickets/{number}/")
        assert response.status_code == 404
        assert response.json() == {
            "code": "unknown_ticket",
            "says": f"There is no ticket {number}.",
            "cure": "Read the number again, or search by phone or name.",
        }


def test_a_payment_is_taken_once(counter: APIClient, ticket: Ticket) -> None:
    TicketLine.objects.create(ticket=ticket, text="Clean", amount="6.00", piece=ticket.pieces.get())
    sent = {"means": "cash", "amount": "4.00", "client_key": KEY}
    first = counter.post(f"{V1}/tickets/{ticket.number}/payments/", sent)
    second = counter.post(f"{V1}/tickets/{ticket.number}/payments/", sent)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert (first.json()["payment"]["amount"], first.json()["balance"]) == ("4.00", "2.00")
    assert Payment.objects.count() == 1
    shown = counter.get(f"{V1}/tickets/{ticket.number}/").json()
    assert (shown["paid"], shown["balance"], len(shown["payments"])) == ("4.00", "2.00", 1)


@pytest.mark.parametrize(
    ("changes", "status", "code"),
    [
        ({"amount": "99.00"}, 409, "overpaid"),
        ({"amount": "0"}, 400, "invalid"),
        ({"amount": "-1"}, 400, "invalid"),
        ({"amount": "1e400"}, 400, "invalid"),
        ({"means": "shells"}, 400, "invalid"),
        ({"kind": "refund"}, 400, "no_reason"),
        ({"reason": "4111 1111 1111 1111"}, 409, "card_number"),
    ],
)
def test_a_payment_that_cannot_be_is_refused(
    counter: APIClient, ticket: Ticket, changes: dict[str, str], status: int, code: str
) -> None:
    TicketLine.objects.create(ticket=ticket, text="Clean", amount="6.00", piece=ticket.pieces.get())
    sent = {"means": "cash", "amount": "4.00", "client_key": KEY, **changes}
    response = counter.post(f"{V1}/tickets/{ticket.number}/payments/", sent)
    assert (response.status_code, response.json()["code"]) == (status, code)
    assert Payment.objects.count() == 0


def test_a_payment_for_an_unknown_ticket_is_404(counter: APIClient) -> None:
    sent = {"means": "cash", "amount": "4.00", "client_key": KEY}
    response = counter.post(f"{V1}/tickets/1000009/payments/", sent)
    assert (response.status_code, response.json()["code"]) == (404, "unknown_ticket")


def test_pieces_are_handed_over_once(counter: APIClient, staff: dict[str, User]) -> None:
    ticket = building.make_ready(
        building.make_ticket(staff["counter"], [building.jumper()] * 2), staff["owner"]
    )
    codes = [piece.code for piece in ticket.pieces.all()]
    standing = counter.get(f"{V1}/pickups/{ticket.number}/").json()
    assert [piece["code"] for piece in standing["ready"]] == codes
    assert (standing["places"], standing["balance"]) == (["A1"], "0.00")

    sent = {"codes": codes, "collector": "Ada Brook", "proof": "slip"}
    first = counter.post(f"{V1}/pickups/{ticket.number}/", sent)
    second = counter.post(f"{V1}/pickups/{ticket.number}/", sent)
    assert (first.status_code, second.status_code) == (201, 200), first.content
    assert first.json() == second.json()
    assert first.json()["codes"] == codes
    assert Pickup.objects.count() == 1
    assert Move.objects.filter(kind="collected").count() == 2
    assert counter.get(f"{V1}/tickets/{ticket.number}/").json()["state"] == "closed"


def test_a_part_is_handed_over_only_when_said(counter: APIClient, staff: dict[str, User]) -> None:
    ticket = building.make_ready(
        building.make_ticket(staff["counter"], [building.jumper()] * 2), staff["owner"]
    )
    sent = {"codes": [ticket.pieces.get(position=2).spoken], "collector": "Ada", "proof": "known"}
    refused = counter.post(f"{V1}/pickups/{ticket.number}/", sent)
    assert (refused.status_code, refused.json()["code"]) == (409, "pieces_stay")
    assert Pickup.objects.count() == 0  # nothing half-saved
    done = counter.post(f"{V1}/pickups/{ticket.number}/", {**sent, "part_of": 2})
    assert (done.status_code, done.json()["part"]) == (201, True)


def test_pieces_that_may_not_leave_are_refused_with_the_reason(
    counter: APIClient, staff: dict[str, User], ticket: Ticket
) -> None:
    other = building.make_ready(building.make_ticket(staff["counter"]), staff["owner"])
    path = f"{V1}/pickups/{ticket.number}/"
    sent = {"collector": "Ada", "proof": "slip"}
    answers = {
        code: counter.post(path, {**sent, "codes": [code]}).json()["code"]
        for code in (ticket.pieces.get().code, other.pieces.get().code)
    }
    assert list(answers.values()) == ["unfinished", "other_ticket"]
    wrong = counter.post(path, {**sent, "codes": ["1000001019"]})
    assert (wrong.status_code, wrong.json()["code"]) == (404, "unknown_number")
    assert Pickup.objects.count() == 0


def test_a_pickup_under_way_at_the_counter_is_not_swept_along(
    counter: APIClient, staff: dict[str, User]
) -> None:
    ticket = building.make_ready(
        building.make_ticket(staff["counter"], [building.jumper()] * 2), staff["owner"]
    )
    one, two = ticket.pieces.order_by("position")
    pickup.scan(ticket.number, one.code, Act(by=staff["owner"]))
    sent = {"codes": [two.code], "collector": "Ada", "proof": "slip", "part_of": 2}
    response = counter.post(f"{V1}/pickups/{ticket.number}/", sent)
    assert (response.status_code, response.json()["code"]) == (409, "pickup_under_way")
    assert [row.piece.code for row in Pickup.objects.get().scanned.all()] == [one.code]


@pytest.mark.parametrize("path", ["tickets/", "customers/"])
def test_a_list_costs_the_same_for_1_and_for_50(
    path: str, counter: APIClient, staff: dict[str, User]
) -> None:
    building.make_ticket(staff["counter"])
    for_one = queries_of(lambda: counter.get(f"{V1}/{path}"))
    for number in range(49):
        building.make_ticket(
            staff["counter"], customer=building.make_customer(phone=f"01632 9602{number:02d}")
        )
    assert len(counter.get(f"{V1}/{path}").json()["results"]) == 50
    assert queries_of(lambda: counter.get(f"{V1}/{path}")) == for_one


def test_a_ticket_costs_the_same_for_1_and_for_30_pieces(
    counter: APIClient, staff: dict[str, User]
) -> None:
    small = building.make_ticket(staff["counter"])
    large = building.make_ticket(staff["counter"], [building.jumper()] * 30)
    assert len(counter.get(f"{V1}/tickets/{large.number}/").json()["pieces"]) == 30
    costs = [
        queries_of(lambda number=ticket.number: counter.get(f"{V1}/tickets/{number}/"))
        for ticket in (small, large)
    ]
    assert costs[0] == costs[1]
