"""Pieces, scans and boards over the API: the same moves as in the back room, each made once."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1, queries_of
from tests.counter.rows import ticket_of
from tickets.choices import BOARD_STATIONS, Station
from tickets.models import Hold, Piece, Ticket
from tickets.shop.calendar import business_day

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


def fresh() -> str:
    return str(uuid.uuid4())


def scan(client: APIClient, piece: Piece, at: str, **more: Any) -> Any:
    sent = {"code": piece.code, "station": at, "client_key": fresh(), **more}
    return client.post(f"{V1}/scan/", sent)


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
    one, two = building.make_ticket(api_staff["counter"], [building.jumper()] * 2).pieces.all()
    scan(api_back, one, "intake", client_key=KEY)
    response = scan(api_back, two, "intake", client_key=KEY)
    assert (response.status_code, response.json()["code"]) == (409, "key_used")
    assert one.spoken in response.json()["says"]
    assert two.moves.count() == 1


def test_a_key_is_needed_and_header_and_field_must_agree(api_back: APIClient, piece: Piece) -> None:
    sent = {"code": piece.code, "station": "intake"}
    for extra, header, field in (
        ({}, {}, "client_key"),
        ({}, {"Idempotency-Key": "nine"}, "Idempotency-Key"),
        ({"client_key": fresh()}, {"Idempotency-Key": fresh()}, "client_key"),
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


def test_a_piece_is_held_and_released_once(
    api_back: APIClient, api_staff: dict[str, User], piece: Piece
) -> None:
    tomorrow = (business_day() + timedelta(days=1)).isoformat()
    path = f"{V1}/pieces/{piece.code}"
    sent = {
        "reason": "ask about the hole",
        "owner": "test-owner",
        "ask_again_on": tomorrow,
        "client_key": KEY,
    }
    first, second = api_back.post(f"{path}/hold/", sent), api_back.post(f"{path}/hold/", sent)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json()["piece"]["state"] == "held"
    hold = Hold.objects.get()
    assert (hold.owner.username, hold.ask_again_on.isoformat()) == ("test-owner", tomorrow)

    again = api_back.post(f"{path}/hold/", {**sent, "client_key": fresh()})
    assert (again.status_code, again.json()["code"]) == (409, "wrong_state")

    sent = {"outcome": "mend it", "client_key": fresh()}
    first, second = api_back.post(f"{path}/release/", sent), api_back.post(f"{path}/release/", sent)
    assert (first.status_code, second.status_code) == (201, 200)
    hold.refresh_from_db()
    assert (hold.outcome, piece.moves.count()) == ("mend it", 3)


def test_a_hold_belongs_to_the_caller_where_nobody_is_named(
    api_back: APIClient, piece: Piece
) -> None:
    sent = {"reason": "r", "ask_again_on": business_day().isoformat(), "client_key": KEY}
    assert api_back.post(f"{V1}/pieces/{piece.spoken}/hold/", sent).status_code == 201
    assert Hold.objects.get().owner.username == "test-backroom"


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"reason": " "}, "invalid"),
        ({"ask_again_on": "2020-01-01"}, "date_past"),
        ({"ask_again_on": "soon"}, "invalid"),
        ({"owner": "nobody"}, "invalid"),
    ],
)
def test_a_hold_without_sense_is_refused(
    api_back: APIClient, piece: Piece, changes: dict[str, str], code: str
) -> None:
    sent = {"reason": "r", "ask_again_on": business_day().isoformat(), "client_key": KEY}
    response = api_back.post(f"{V1}/pieces/{piece.code}/hold/", {**sent, **changes})
    assert (response.status_code, response.json()["code"]) == (400, code)
    assert piece.moves.count() == 1


def test_a_redo_sends_the_piece_back_once(
    api_back: APIClient, api_staff: dict[str, User], piece: Piece
) -> None:
    building.work_until(piece, Station.ASSEMBLY, api_staff["backroom"])
    moves = piece.moves.count()
    sent = {"station": "intake", "reason": "wrong tag", "client_key": KEY}
    path = f"{V1}/pieces/{piece.code}/redo/"
    first, second = api_back.post(path, sent), api_back.post(path, sent)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json()["piece"]["station"] == "intake"
    assert (first.json()["move"]["kind"], piece.moves.count()) == ("redo", moves + 1)
    spare = api_back.post(path, {**sent, "client_key": fresh(), "station": "bench"})
    assert (spare.status_code, spare.json()["code"]) == (409, "not_on_route")
    # The key of the redo is no key for another kind of move.
    held = {"reason": "r", "ask_again_on": business_day().isoformat(), "client_key": KEY}
    other = api_back.post(f"{V1}/pieces/{piece.code}/hold/", held)
    assert (other.status_code, other.json()["code"]) == (409, "key_used")


@pytest.mark.parametrize(
    ("action", "sent"),
    [
        ("hold", {"reason": "r", "ask_again_on": "2999-01-01"}),
        ("release", {"outcome": "o"}),
        ("redo", {"reason": "r", "station": "wash"}),
        ("return", {"reason": "r"}),
    ],
)
def test_moves_of_an_unknown_piece_are_404(
    api_of: Callable[[str], APIClient], action: str, sent: dict[str, str]
) -> None:
    for code, expected in (("1000001-01", "unknown_piece"), ("shirt", "unknown_number")):
        path = f"{V1}/pieces/{code}/{action}/"
        response = api_of("owner").post(path, {**sent, "client_key": KEY})
        assert (response.status_code, response.json()["code"]) == (404, expected)


def test_a_piece_shows_its_route_limits_cautions_and_moves(
    api_back: APIClient, piece: Piece
) -> None:
    scan(api_back, piece, "intake")
    shown = api_back.get(f"{V1}/pieces/{piece.spoken}/").json()
    assert (shown["code"], shown["ticket"], shown["late"]) == (
        piece.code,
        piece.ticket.number,
        False,
    )
    assert shown["decision"] == piece.decision
    assert [step["order"] for step in shown["steps"]] == [
        step.order for step in piece.steps.order_by("order")
    ]
    assert shown["steps"][0]["done_at"] is not None
    assert [move["kind"] for move in shown["moves"]] == ["opened", "worked"]
    assert [move["by"] for move in shown["moves"]] == ["Test Counter", "Test Backroom"]


def test_the_list_filters_by_station_state_and_lateness(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    now = timezone.now()
    late = building.make_ticket(
        api_staff["counter"], promised_at=now - timedelta(hours=1), at=now - timedelta(days=3)
    ).pieces.get()
    bob = building.make_customer("Bob Ashdown", "07700 900456")
    due = building.make_ticket(api_staff["counter"], customer=bob).pieces.get()
    scan(api_back, due, "intake")
    due.refresh_from_db()

    def found(**filters: Any) -> list[str]:
        return [row["code"] for row in api_back.get(f"{V1}/pieces/", filters).json()["results"]]

    assert found() == [late.code, due.code]
    assert found(station="intake") == [late.code]
    assert found(station=due.station) == [due.code]
    assert found(state="waiting") == [late.code, due.code]
    assert found(state="held") == []
    assert found(open="true") == [late.code, due.code]
    assert found(open="false") == []
    assert found(ticket=late.ticket.number) == [late.code]
    assert found(customer=due.ticket.customer_id) == [due.code]
    assert found(promise_day=due.ticket.promise_day) == [due.code]
    assert found(late="true") == [late.code]
    assert found(late="false") == [due.code]
    assert [row["late"] for row in api_back.get(f"{V1}/pieces/").json()["results"]] == [True, False]
    for name, value in (
        ("station", "moon"),
        ("state", "lost"),
        ("late", "perhaps"),
        ("staton", "wash"),
    ):
        response = api_back.get(f"{V1}/pieces/", {name: value})
        assert [fault["field"] for fault in response.json()["fields"]] == [name]


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
        {"field": "late", "value": "true", "cure": "Unknown here. Known are: page, page_size."}
    ]


@pytest.mark.parametrize("path", ["pieces/", "boards/", "boards/intake/"])
def test_lists_cost_the_same_for_1_and_for_50_pieces(
    path: str, api_back: APIClient, api_staff: dict[str, User]
) -> None:
    ticket_of(api_staff["counter"])
    for_one = queries_of(lambda: api_back.get(f"{V1}/{path}"))
    for _ in range(7):
        ticket_of(api_staff["counter"], 7)
    assert Piece.objects.count() == 50
    assert path == "boards/" or len(api_back.get(f"{V1}/{path}").json()["results"]) == 50
    assert queries_of(lambda: api_back.get(f"{V1}/{path}")) == for_one


def test_a_piece_costs_the_same_for_few_and_many_moves(api_back: APIClient, piece: Piece) -> None:
    today = business_day().isoformat()

    def hold_and_release() -> None:
        held = {"reason": "r", "ask_again_on": today, "client_key": fresh()}
        assert api_back.post(f"{V1}/pieces/{piece.code}/hold/", held).status_code == 201
        ended = {"outcome": "o", "client_key": fresh()}
        assert api_back.post(f"{V1}/pieces/{piece.code}/release/", ended).status_code == 201

    hold_and_release()
    for_three = queries_of(lambda: api_back.get(f"{V1}/pieces/{piece.code}/"))
    for _ in range(9):
        hold_and_release()
    assert len(api_back.get(f"{V1}/pieces/{piece.code}/").json()["moves"]) == 21
    assert queries_of(lambda: api_back.get(f"{V1}/pieces/{piece.code}/")) == for_three
