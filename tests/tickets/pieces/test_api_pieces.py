"""Pieces over the API: found, read, held, released and done anew, each move made once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1, fresh_key, queries_of, scan
from tests.bulk import copies
from tests.counter.rows import ticket_of
from tickets.choices import Station
from tickets.models import Hold, Piece, Ticket
from tickets.shop.calendar import business_day

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


@pytest.fixture
def piece(jumper_ticket: Ticket) -> Piece:
    return jumper_ticket.pieces.get()


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

    again = api_back.post(f"{path}/hold/", {**sent, "client_key": fresh_key()})
    assert (again.status_code, again.json()["code"]) == (409, "wrong_state")

    sent = {"outcome": "mend it", "client_key": fresh_key()}
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
    spare = api_back.post(path, {**sent, "client_key": fresh_key(), "station": "bench"})
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


@pytest.mark.parametrize("path", ["pieces/", "boards/", "boards/intake/"])
def test_lists_cost_the_same_for_1_and_for_50_pieces(
    path: str, api_back: APIClient, api_staff: dict[str, User]
) -> None:
    ticket = ticket_of(api_staff["counter"])
    for_one = queries_of(lambda: api_back.get(f"{V1}/{path}"))
    copies(ticket.pieces.get(), 49, a_ticket=7)
    assert Piece.objects.count() == 50
    assert path == "boards/" or len(api_back.get(f"{V1}/{path}").json()["results"]) == 50
    assert queries_of(lambda: api_back.get(f"{V1}/{path}")) == for_one


def test_a_piece_costs_the_same_for_few_and_many_moves(api_back: APIClient, piece: Piece) -> None:
    today = business_day().isoformat()

    def hold_and_release() -> None:
        held = {"reason": "r", "ask_again_on": today, "client_key": fresh_key()}
        assert api_back.post(f"{V1}/pieces/{piece.code}/hold/", held).status_code == 201
        ended = {"outcome": "o", "client_key": fresh_key()}
        assert api_back.post(f"{V1}/pieces/{piece.code}/release/", ended).status_code == 201

    hold_and_release()
    for_three = queries_of(lambda: api_back.get(f"{V1}/pieces/{piece.code}/"))
    for _ in range(9):
        hold_and_release()
    assert len(api_back.get(f"{V1}/pieces/{piece.code}/").json()["moves"]) == 21
    assert queries_of(lambda: api_back.get(f"{V1}/pieces/{piece.code}/")) == for_three
