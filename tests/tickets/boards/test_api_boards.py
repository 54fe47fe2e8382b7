"""Scans and boards over the API: the same moves as in the back room, each made once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1, fresh_key, scan
from tickets.choices import BOARD_STATIONS, Station
from tickets.models import Piece, Ticket

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


@pytest.fixture
def piece(jumper_ticket: Ticket) -> Piece:
    return jumper_ticket.pieces.get()


def test_a_scan_moves_the_piece_on(api_back: APIClient, piece: Piece) -> None:
    response = scan(api_back, piece, "intake")
    assert response.status_code == 200
    shown = response.json()
    assert (shown["tone"], shown["asks"], shown["repeated"]) == ("good", "", False)
    piece.refresh_from_db()
    assert shown["piece"]["station"] == piece.station != "intake"
    move = piece.moves.get(number=2)
    assert (move.kind, move.by.username, move.from_station) == ("worked", "test-backroom", "intake")


def test_the_spoken_number_scans_as_well(api_back: APIClient, piece: Piece) -> None:
    assert scan(api_back, piece, "intake", code=f" {piece.spoken} ").status_code == 200


def test_a_scan_sent_twice_gives_one_move(api_back: APIClient, piece: Piece) -> None:
    first = scan(api_back, piece, "intake", client_key=KEY, device="tablet 1").json()
    second = scan(api_back, piece, "intake", client_key=KEY, device="tablet 1").json()
    assert (first["repeated"], second["repeated"]) == (False, True)
    assert first["piece"] == second["piece"]
    assert [move.device for move in piece.moves.all()] == ["", "tablet 1"]


def test_a_key_of_another_piece_is_refused(api_back: APIClient, api_staff: dict[str, User]) -> None:
    first, second = building.make_ticket(api_staff["counter"], [building.jumper()] * 2).pieces.all()
    scan(api_back, first, "intake", client_key=KEY)
    response = scan(api_back, second, "intake", client_key=KEY)
    assert (response.status_code, response.json()["code"]) == (409, "key_used")
    assert first.spoken in response.json()["says"]
    assert second.moves.count() == 1


def test_a_key_is_needed_and_header_and_field_must_agree(api_back: APIClient, piece: Piece) -> None:
    sent = {"code": piece.code, "station": "intake"}
    for extra, header, field in (
        ({}, {}, "client_key"),
        ({}, {"Idempotency-Key": "nine"}, "Idempotency-Key"),
        ({"client_key": fresh_key()}, {"Idempotency-Key": fresh_key()}, "client_key"),
    ):
        response = api_back.post(f"{V1}/scan/", {**sent, **extra}, headers=header)
        assert response.status_code == 400
        assert [fault["field"] for fault in response.json()["fields"]] == [field]
    assert piece.moves.count() == 1


def test_a_wet_check_asks_and_is_answered(api_back: APIClient, api_staff: dict[str, User]) -> None:
    stained = building.make_ticket(api_staff["counter"], [building.shirt()]).pieces.get()
    for _ in range(6):
        stained.refresh_from_db()
        asked = scan(api_back, stained, stained.station).json()
        if asked["asks"]:
            break
    assert (asked["tone"], asked["asks"]) == ("ask", "wet_check")
    stained.refresh_from_db()
    answered = scan(api_back, stained, stained.station, answer=False).json()
    assert (answered["tone"], answered["piece"]["station"]) == ("good", "spotting")
    assert stained.moves.latest("number").kind == "stain_still_there"


def test_assembly_and_rack_make_a_ticket_ready(
    api_back: APIClient, api_staff: dict[str, User], piece: Piece
) -> None:
    building.work_until(piece, Station.ASSEMBLY, api_staff["backroom"])
    assert scan(api_back, piece, "assembly").json()["piece"]["station"] == "rack"
    asked = scan(api_back, piece, "rack").json()
    assert (asked["tone"], asked["asks"]) == ("ask", "rack")
    lost = scan(api_back, piece, "rack", place="Z9")
    assert (lost.status_code, lost.json()["code"]) == (404, "unknown_place")
    hung = scan(api_back, piece, "rack", place="a2").json()
    assert (hung["piece"]["state"], hung["piece"]["rack_place"]) == ("ready", "A2")
    assert api_back.get(f"{V1}/tickets/{piece.ticket.number}/").json()["state"] == "ready"


@pytest.mark.parametrize(
    ("changes", "status", "code"),
    [
        ({"station": "press"}, 409, "not_here"),
        ({"code": "1000009016"}, 404, "unknown_number"),  # wrong check digit
        ({"code": "1000009-01"}, 404, "unknown_piece"),
        ({"code": "1000001"}, 404, "unknown_piece"),  # a ticket
        ({"code": "shirt"}, 404, "unknown_number"),
        ({"code": ""}, 400, "invalid"),
        ({"code": "1" * 41}, 400, "invalid"),
        ({"code": ["1"]}, 400, "invalid"),
        ({"station": "moon"}, 400, "invalid"),
        ({"station": "pickup"}, 400, "invalid"),
        ({"answer": "perhaps"}, 400, "invalid"),
        ({"answer": True}, 409, "no_wet_check"),
        ({"place": "A1"}, 409, "not_the_rack"),
        ({"client_key": "k"}, 400, "invalid"),
    ],
)
def test_a_scan_that_cannot_be_changes_nothing(
    api_back: APIClient, piece: Piece, changes: dict[str, Any], status: int, code: str
) -> None:
    response = scan(api_back, piece, "intake", **changes)
    assert (response.status_code, response.json()["code"]) == (status, code)
    assert response.json()["says"]
    assert piece.moves.count() == 1


def test_boards_count_what_stands_where(api_back: APIClient, piece: Piece) -> None:
    rows = api_back.get(f"{V1}/boards/").json()
    assert [row["station"] for row in rows] == list(BOARD_STATIONS)
    assert rows[0] == {
        "station": "intake",
        "name": "Intake",
        "waiting": 1,
        "matched": 0,
        "held": 0,
        "late": 0,
    }
    assert sum(row["waiting"] for row in rows) == 1


def test_a_board_says_what_to_do_what_never_and_why(
    api_back: APIClient, api_staff: dict[str, User], piece: Piece
) -> None:
    later = piece.promised_at + timedelta(days=1)
    second = building.make_ticket(api_staff["counter"], promised_at=later).pieces.get()
    rows = api_back.get(f"{V1}/boards/intake/").json()["results"]
    assert [row["code"] for row in rows] == [piece.code, second.code]
    first_step = piece.steps.earliest("order")
    assert rows[0]["to_do"][0]["says"] == first_step.says
    assert rows[0]["limits"] == piece.decision["limits"]
    assert rows[0]["cautions"] == piece.decision["cautions"]
    assert rows[0]["urgency"] in ("due", "risk")


def test_an_unknown_board_is_404(api_back: APIClient, db: None) -> None:
    for name in ("moon", "pickup"):
        response = api_back.get(f"{V1}/boards/{name}/")
        assert (response.status_code, response.json()["code"]) == (404, "unknown_station")
    assert "intake" in response.json()["cure"]


def test_a_board_has_no_filter_of_its_own(api_back: APIClient, db: None) -> None:
    response = api_back.get(f"{V1}/boards/wash/", {"late": "true"})
    assert response.status_code == 400
    assert response.json()["fields"] == [
        {
            "field": "late",
            "value": "true",
            "cure": "Unknown here. Known are: page, page_size, after.",
        }
    ]
