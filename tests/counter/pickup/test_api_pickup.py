"""Pickups over the API: pieces handed over once."""

from __future__ import annotations

from django.contrib.auth.models import User
from rest_framework.test import APIClient

from counter.models import Pickup
from counter.pickup import services as pickup
from tests import building
from tests.api_calls import V1
from tickets.acting import Act
from tickets.models import Move, Ticket


def test_pieces_are_handed_over_once(api_counter: APIClient, api_staff: dict[str, User]) -> None:
    ticket = building.make_ready(
        building.make_ticket(api_staff["counter"], [building.jumper()] * 2), api_staff["owner"]
    )
    codes = [piece.code for piece in ticket.pieces.all()]
    standing = api_counter.get(f"{V1}/pickups/{ticket.number}/").json()
    assert [piece["code"] for piece in standing["ready"]] == codes
    assert (standing["places"], standing["balance"]) == (["A1"], "0.00")

    sent = {"codes": codes, "collector": "Ada Brook", "proof": "slip"}
    first = api_counter.post(f"{V1}/pickups/{ticket.number}/", sent)
    second = api_counter.post(f"{V1}/pickups/{ticket.number}/", sent)
    assert (first.status_code, second.status_code) == (201, 200), first.content
    assert first.json() == second.json()
    assert first.json()["codes"] == codes
    assert Pickup.objects.count() == 1
    assert Move.objects.filter(kind="collected").count() == 2
    assert api_counter.get(f"{V1}/tickets/{ticket.number}/").json()["state"] == "closed"


def test_a_part_is_handed_over_only_when_said(
    api_counter: APIClient, api_staff: dict[str, User]
) -> None:
    ticket = building.make_ready(
        building.make_ticket(api_staff["counter"], [building.jumper()] * 2), api_staff["owner"]
    )
    sent = {"codes": [ticket.pieces.get(position=2).spoken], "collector": "Ada", "proof": "known"}
    refused = api_counter.post(f"{V1}/pickups/{ticket.number}/", sent)
    assert (refused.status_code, refused.json()["code"]) == (409, "pieces_stay")
    assert Pickup.objects.count() == 0  # nothing half-saved
    done = api_counter.post(f"{V1}/pickups/{ticket.number}/", {**sent, "part_of": 2})
    assert (done.status_code, done.json()["part"]) == (201, True)


def test_pieces_that_may_not_leave_are_refused_with_the_reason(
    api_counter: APIClient, api_staff: dict[str, User], jumper_ticket: Ticket
) -> None:
    other = building.make_ready(building.make_ticket(api_staff["counter"]), api_staff["owner"])
    path = f"{V1}/pickups/{jumper_ticket.number}/"
    sent = {"collector": "Ada", "proof": "slip"}
    answers = {
        code: api_counter.post(path, {**sent, "codes": [code]}).json()["code"]
        for code in (jumper_ticket.pieces.get().code, other.pieces.get().code)
    }
    assert list(answers.values()) == ["unfinished", "other_ticket"]
    wrong = api_counter.post(path, {**sent, "codes": ["1000001019"]})
    assert (wrong.status_code, wrong.json()["code"]) == (404, "unknown_number")
    assert Pickup.objects.count() == 0


def test_a_pickup_under_way_at_the_counter_is_not_swept_along(
    api_counter: APIClient, api_staff: dict[str, User]
) -> None:
    ticket = building.make_ready(
        building.make_ticket(api_staff["counter"], [building.jumper()] * 2), api_staff["owner"]
    )
    first, second = ticket.pieces.order_by("position")
    pickup.scan(ticket.number, first.code, Act(by=api_staff["owner"]))
    sent = {"codes": [second.code], "collector": "Ada", "proof": "slip", "part_of": 2}
    response = api_counter.post(f"{V1}/pickups/{ticket.number}/", sent)
    assert (response.status_code, response.json()["code"]) == (409, "pickup_under_way")
    assert [row.piece.code for row in Pickup.objects.get().scanned.all()] == [first.code]
