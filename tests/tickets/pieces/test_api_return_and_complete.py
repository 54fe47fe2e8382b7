"""Given back undone, and sent to the rack: the moves of a whole ticket, each made once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from functools import partial
from typing import Any

import pytest
from django.contrib.auth.models import User
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1, fresh_key, queries_of
from tests.counter.rows import ticket_of, work
from tickets.acting import Act
from tickets.models import Hold, Move, Piece, Ticket
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


def matched(by: User, pieces: int = 1, *, leave: int = 0) -> Ticket:
    """A ticket whose pieces lie matched on the assembly table, but for the last ``leave``."""
    ticket = ticket_of(by, pieces)
    for piece in ticket.pieces.order_by("position")[: pieces - leave]:
        work(piece, by, until="assembly")
        tracking.assemble(piece.code, Act(by=by))
    return ticket


def stations(ticket: Ticket) -> list[str]:
    return [piece.station for piece in ticket.pieces.order_by("position")]


def faults(response: Any) -> list[tuple[str, Any]]:
    return [(fault["field"], fault["value"]) for fault in response.json()["fields"]]


# Given back undone


def test_a_piece_goes_back_undone_once_and_is_charged_no_more(
    api_counter: APIClient, api_staff: dict[str, User]
) -> None:
    ticket = ticket_of(api_staff["counter"], 2)
    piece = ticket.pieces.get(position=2)
    sent = {"reason": "customer changed their mind", "client_key": KEY, "device": "till 1"}
    path = f"{V1}/pieces/{piece.spoken}/return/"
    first, second = api_counter.post(path, sent), api_counter.post(path, sent)
    assert (first.status_code, second.status_code) == (201, 200)
    assert second.json() == {**first.json(), "repeated": True}
    assert first.json()["piece"]["state"] == "returned"
    move = first.json()["move"]
    assert (move["kind"], move["reason"], move["by"], move["device"]) == (
        "returned",
        "customer changed their mind",
        "Test Counter",
        "till 1",
    )
    assert piece.moves.count() == 2
    shown = api_counter.get(f"{V1}/tickets/{ticket.number}/").json()
    assert [(line["piece"], line["charged"]) for line in shown["lines"]] == [(1, True), (2, False)]
    assert (shown["total"], shown["balance"], shown["state"]) == ("6.00", "6.00", "open")


def test_a_held_piece_goes_back_and_its_hold_ends(
    api_counter: APIClient, jumper_ticket: Ticket
) -> None:
    piece, tomorrow = jumper_ticket.pieces.get(), business_day() + timedelta(days=1)
    held = {"reason": "ask", "ask_again_on": tomorrow.isoformat(), "client_key": fresh_key()}
    assert api_counter.post(f"{V1}/pieces/{piece.code}/hold/", held).status_code == 201
    sent = {"reason": "not worth it", "client_key": KEY}
    assert api_counter.post(f"{V1}/pieces/{piece.code}/return/", sent).status_code == 201
    hold = Hold.objects.get()
    assert (hold.ended_at is not None, hold.outcome) == (True, "not worth it")
    assert api_counter.get(f"{V1}/tickets/{jumper_ticket.number}/").json()["state"] == "closed"


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"reason": " "}, [("reason", " ")]),
        ({"reason": None}, [("reason", None)]),
        ({"reason": "x" * 301}, [("reason", "x" * 119 + "…")]),
        ({"client_key": "nine"}, [("client_key", "nine")]),
        ({"raeson": "r"}, [("raeson", "r")]),
    ],
)
def test_a_return_that_says_too_little_is_refused(
    api_counter: APIClient,
    jumper_ticket: Ticket,
    changes: dict[str, Any],
    fields: list[tuple[str, Any]],
) -> None:
    piece = jumper_ticket.pieces.get()
    sent = {"reason": "r", "client_key": KEY, **changes}
    response = api_counter.post(f"{V1}/pieces/{piece.code}/return/", sent)
    assert (response.status_code, faults(response)) == (400, fields)
    assert all(fault["cure"] for fault in response.json()["fields"])
    assert piece.moves.count() == 1


def test_a_piece_that_left_goes_back_no_second_time(
    api_counter: APIClient, jumper_ticket: Ticket
) -> None:
    piece = jumper_ticket.pieces.get()
    path = f"{V1}/pieces/{piece.code}/return/"
    api_counter.post(path, {"reason": "r", "client_key": KEY})
    again = api_counter.post(path, {"reason": "r", "client_key": fresh_key()})
    assert (again.status_code, again.json()["code"]) == (409, "wrong_state")
    assert piece.spoken in again.json()["says"]
    assert again.json()["cure"]
    assert piece.moves.count() == 2


def test_the_back_room_gives_nothing_back(api_back: APIClient, jumper_ticket: Ticket) -> None:
    piece = jumper_ticket.pieces.get()
    sent = {"reason": "r", "client_key": KEY}
    response = api_back.post(f"{V1}/pieces/{piece.code}/return/", sent)
    assert (response.status_code, response.json()["code"]) == (403, "permission_denied")
    assert piece.moves.count() == 1


# To the rack


def test_a_matched_ticket_goes_to_the_rack_once(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    ticket = matched(api_staff["backroom"], 2)
    path, sent = f"{V1}/tickets/{ticket.number}/complete/", {"client_key": KEY}
    first, second = api_back.post(path, sent), api_back.post(path, sent)
    assert (first.status_code, second.status_code) == (201, 200), first.content
    assert second.json() == {**first.json(), "repeated": True}
    assert first.json()["ticket"] == ticket.number
    assert [row["piece"]["code"] for row in first.json()["moved"]] == [
        piece.code for piece in ticket.pieces.order_by("position")
    ]
    assert {row["move"]["kind"] for row in first.json()["moved"]} == {"ticket_complete"}
    assert stations(ticket) == ["rack", "rack"]
    assert Move.objects.filter(kind="ticket_complete").count() == 2


def test_a_part_goes_ahead_only_with_a_reason(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    ticket = matched(api_staff["backroom"], 3, leave=1)
    path = f"{V1}/tickets/{ticket.number}/complete/"
    refused = api_back.post(path, {"client_key": KEY})
    assert (refused.status_code, refused.json()["code"]) == (409, "incomplete")
    missing = ticket.pieces.get(position=3)
    assert missing.spoken in refused.json()["says"]
    assert refused.json()["cure"]
    assert stations(ticket) == ["assembly", "assembly", "intake"]
    # The key of a refusal is still free.
    done = api_back.post(path, {"client_key": KEY, "part_reason": "wedding tomorrow"})
    assert done.status_code == 201
    assert {row["move"]["reason"] for row in done.json()["moved"]} == {"wedding tomorrow"}
    assert stations(ticket) == ["rack", "rack", "intake"]


def test_a_ticket_with_nothing_on_the_table_is_refused(
    api_of: Callable[[str], APIClient], api_staff: dict[str, User]
) -> None:
    boss, ticket = api_of("owner"), ticket_of(api_staff["owner"])
    path = f"{V1}/tickets/{ticket.number}/complete/"
    response = boss.post(path, {"client_key": KEY, "part_reason": "r"})
    assert (response.status_code, response.json()["code"]) == (409, "nothing_to_complete")
    unknown = boss.post(f"{V1}/tickets/1999999/complete/", {"client_key": KEY})
    assert (unknown.status_code, unknown.json()["code"]) == (404, "unknown_ticket")
    assert ticket.pieces.get().moves.count() == 1


def test_the_key_of_one_ticket_completes_no_other(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    first, second = matched(api_staff["backroom"]), matched(api_staff["backroom"])
    assert (
        api_back.post(f"{V1}/tickets/{first.number}/complete/", {"client_key": KEY}).status_code
        == 201
    )
    response = api_back.post(f"{V1}/tickets/{second.number}/complete/", {"client_key": KEY})
    assert (response.status_code, response.json()["code"]) == (409, "key_used")
    assert str(first.number) in response.json()["says"]
    assert stations(second) == ["assembly"]


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({}, "client_key"),
        ({"client_key": KEY, "part_reason": "x" * 301}, "part_reason"),
        ({"client_key": KEY, "part_reason": ["a"]}, "part_reason"),
        ({"client_key": KEY, "part": True}, "part"),
        ({"client_key": KEY, "device": "d" * 61}, "device"),
    ],
)
def test_a_wrong_field_completes_nothing(
    api_back: APIClient, api_staff: dict[str, User], sent: dict[str, Any], field: str
) -> None:
    ticket = matched(api_staff["backroom"])
    response = api_back.post(f"{V1}/tickets/{ticket.number}/complete/", sent)
    assert (response.status_code, [name for name, _ in faults(response)]) == (400, [field])
    assert stations(ticket) == ["assembly"]


def test_the_answer_to_a_repeat_costs_the_same_for_1_and_for_30_pieces(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    costs = []
    for count in (1, 30):
        ticket, key = matched(api_staff["backroom"], count), fresh_key()
        path = f"{V1}/tickets/{ticket.number}/complete/"
        assert api_back.post(path, {"client_key": key}).status_code == 201
        for piece in ticket.pieces.all():
            tracking.rack(piece.code, "A1", Act(by=api_staff["backroom"]))
        costs.append(queries_of(partial(api_back.post, path, {"client_key": key})))
    assert costs[0] == costs[1]
    assert Piece.objects.filter(state="ready").count() == 31


def test_a_returned_piece_does_not_hold_up_its_ticket(
    api_of: Callable[[str], APIClient], api_staff: dict[str, User]
) -> None:
    boss, ticket = api_of("owner"), matched(api_staff["owner"], 2, leave=1)
    missing = ticket.pieces.get(position=2)
    sent = {"reason": "torn lining", "client_key": fresh_key()}
    assert boss.post(f"{V1}/pieces/{missing.code}/return/", sent).status_code == 201
    done = boss.post(f"{V1}/tickets/{ticket.number}/complete/", {"client_key": fresh_key()})
    assert (done.status_code, len(done.json()["moved"])) == (201, 1)
    building.make_shop()
    hung = boss.post(
        f"{V1}/scan/",
        {
            "code": ticket.pieces.get(position=1).code,
            "station": "rack",
            "place": "A1",
            "client_key": fresh_key(),
        },
    )
    assert hung.json()["piece"]["state"] == "ready"
    assert boss.get(f"{V1}/tickets/{ticket.number}/").json()["state"] == "ready"
